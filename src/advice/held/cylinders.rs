//! A step of an engine with several cylinders, judged at each of them by its own setup and its own runs.

use super::beside::lean_when_last_judged;
use super::judge::judge;
use super::proposal::Proposal;
use super::ran::with_what_was_taken_out;
use super::refused::case::is_harmless;
use super::said::{Judgement, LastRun, LastVerdict, Refusal, Told};
use crate::advice::learning::lean_sign;
use crate::notebook::fields::cylinder::{NAMES, at_cylinder, can_be_own, said_of_all};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{CommandOption, Guidance};
use crate::notebook::restoring::on_the_bike::to_do;
use crate::notebook::{Combination, FieldSet, compare};
use crate::store::{Book, StoreError};

/// As [`judge`], at each cylinder where there are several: what is to be said of all of them is said once, the rest with the name.
pub fn judge_each(book: &Book<'_>, proposal: &Proposal<'_>) -> Result<Judgement, StoreError> {
    let filled = with_what_was_taken_out(&book.of_all(), proposal)?;
    let proposal = &Proposal { before: filled.as_ref().or(proposal.before), ..*proposal };
    let mut names = proposal.after.fields.cylinders();
    if names.is_empty() {
        return judge(book, proposal);
    }
    // A cylinder that is named anew has what was written for all.
    names.dedup();
    let mut all = Vec::new();
    for name in &names {
        let seen = book.for_cylinder(name);
        let sharing = seen.sharing_with(proposal.bike)?;
        let at = |whole: &Combination| whole.for_cylinders(name, &sharing);
        let (before, after) = (proposal.before.map(at), at(proposal.after));
        let own = Proposal { before: before.as_ref(), after: &after, ..*proposal };
        all.push((name.as_str(), judge(&seen, &own)?));
    }
    let mut whole = together(&all);
    // Names that the bike did not use say nothing of the cylinders that ran.
    let known = proposal.before.map(|before| before.fields.cylinders()).unwrap_or_default();
    if whole.refused.is_empty() && !known.is_empty() && names.iter().any(|name| !known.contains(name)) {
        let lean = lean_when_last_judged(&book.for_cylinder(&known[0]), proposal.bike)?;
        if let Some((sentence, run)) = lean {
            whole.refused.push(Refusal {
                cylinder: None,
                field: NAMES.to_owned(),
                sentence: format!(
                    "{sentence} The cylinders that go in are called otherwise: {}.",
                    names.join(", ")
                )
                .into(),
                by_a_run: Some(run),
                rejet_first: false,
            });
            whole.way_out = of_other_names();
        }
    }
    Ok(whole)
}

/// As [`judge_each`], of an earlier setup that is put back: where nothing speaks against it, the step is counted from what its jobs say is
/// on the bike, for what was recorded since and never done was on no bike. What held the last run is said all the same.
pub fn judge_back(book: &Book<'_>, proposal: &Proposal<'_>) -> Result<Judgement, StoreError> {
    let mut judged = judged_back(book, proposal)?;
    let said = judged.told.iter().map(Told::sentence);
    let mut said = said.chain(judged.refused.iter().map(|refusal| refusal.sentence.without_commands()));
    if !said.any(|sentence| sentence.contains("seized"))
        && let Some(sentence) = seized_in_the_last_run(book, proposal.bike)?
    {
        judged.told.insert(0, Told::of(true, sentence));
    }
    Ok(judged)
}

/// What is to be said before anything runs where the last run seized, with no cause written down.
fn seized_in_the_last_run(book: &Book<'_>, bike: &str) -> Result<Option<String>, StoreError> {
    let Some(last) = book.of_all().outings(bike)?.pop().filter(|last| !last.outing.is_closed()) else {
        return Ok(None);
    };
    let each = last.outing.at_each_cylinder();
    let mut seized =
        each.iter().filter(|(_, outing)| lean_sign(outing).is_some_and(|sign| sign.is_seizure()));
    Ok(seized.next().map(|(name, _)| {
        let which = name.map_or_else(|| "It".to_owned(), |name| format!("The cylinder {}", visible(name)));
        let day = last.outing.date.day();
        format!(
            "{which} seized in the last run, on {day}: find out why before it is started again: plug, piston, leaks, fuel, spark."
        )
    }))
}

fn judged_back(book: &Book<'_>, proposal: &Proposal<'_>) -> Result<Judgement, StoreError> {
    let jobs = book.open_jobs_of(proposal.bike)?;
    let moves_nothing =
        proposal.moves_nothing || jobs.on_it().is_some_and(|on_it| stands_so(on_it, &proposal.after.fields));
    let proposal = &Proposal { moves_nothing, ..*proposal };
    let by_record = judge_each(book, proposal)?;
    let on_it = book.really_on(&jobs)?.filter(|_| by_record.refused.is_empty());
    let Some(on_it) = on_it else { return Ok(by_record) };
    let on_it = book.combination(proposal.bike, Some(&on_it))?;
    let mut counted = judge_each(book, &Proposal { before: Some(&on_it), ..*proposal })?;
    if counted.refused.iter().any(|refusal| refusal.rejet_first) {
        return Ok(counted);
    }
    if !counted.refused.is_empty() {
        return Ok(by_record);
    }
    if counted.told.is_empty() {
        counted.told = lean_last_runs(&by_record.told);
    }
    counted.is_held |= by_record.is_held;
    Ok(counted)
}

/// Whether nothing that fuel, spark or the head hang on is otherwise on the bike than it would be: then what was recorded since it ran and
/// never fitted is only taken back.
fn stands_so(on_it: &FieldSet, wanted: &FieldSet) -> bool {
    let is_moved = |field: &str| !is_harmless(field);
    !to_do(on_it, wanted).iter().any(|item| is_moved(&item.field))
        && !compare(on_it, wanted).changes.iter().any(|change| is_moved(&change.field))
}

/// The last runs that were lean, each said once: by the cylinder's name where it is of one alone.
fn lean_last_runs(told: &[Told]) -> Vec<Told> {
    let lean = |one: &Told| one.last.clone().filter(|last| last.was == LastVerdict::Lean);
    let mut runs: Vec<(Option<String>, LastRun)> = Vec::new();
    for (cylinder, last) in told.iter().filter_map(|one| Some((&one.cylinder, lean(one)?))) {
        match runs.iter_mut().find(|(_, known)| *known == last) {
            Some((of, _)) => *of = None,
            None => runs.push((cylinder.clone(), last)),
        }
    }
    let said = |(cylinder, last)| Told { cylinder, last: Some(last), ..Told::nothing(false) };
    runs.into_iter().map(said).collect()
}

/// What to do where the cylinders that go in bear other names than those that ran.
fn of_other_names() -> Guidance {
    Guidance::from(
        "Name them in its engine.toml as the bike's were, so that each keeps its runs; or say why it is done all the same: ",
    ) + CommandOption::Despite
        + "."
}

fn together(all: &[(&str, Judgement)]) -> Judgement {
    let told: Vec<_> = all.iter().map(|(name, one)| (*name, one.told.clone())).collect();
    let refused: Vec<_> = all.iter().map(|(name, one)| (*name, one.refused.clone())).collect();
    let mut told = said_of_all(&told, |name, told| Told { cylinder: Some(name.to_owned()), ..told.clone() });
    // What must not be run comes first.
    told.sort_by_key(|told| !told.urgent);
    Judgement {
        told,
        refused: said_of_all(&refused, |name, refusal| Refusal {
            cylinder: Some(name.to_owned()),
            field: if can_be_own(&refusal.field) {
                format!("{name}.{}", refusal.field)
            } else {
                refusal.field.clone()
            },
            sentence: refusal.sentence.clone().map_first(|words| at_cylinder(name, words)),
            by_a_run: refusal.by_a_run.clone(),
            rejet_first: refusal.rejet_first,
        }),
        way_out: all
            .iter()
            .map(|(_, one)| &one.way_out)
            .find(|way| !way.is_empty())
            .cloned()
            .unwrap_or_default(),
        is_held: all.iter().any(|(_, one)| one.is_held),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::held::said::capital;

    fn told(cylinder: &str, words: &str, was: LastVerdict) -> Told {
        let last = Some(LastRun { words: words.to_owned(), was });
        let parts = vec!["main 162 -> 158, 2 sizes leaner".to_owned()];
        Told { cylinder: Some(cylinder.to_owned()), parts, last, ..Told::nothing(false) }
    }

    fn refused(cylinder: Option<&str>, sentence: &str) -> Refusal {
        let (cylinder, field) = (cylinder.map(str::to_owned), "jetting.main".to_owned());
        Refusal { cylinder, field, sentence: sentence.into(), by_a_run: None, rejet_first: false }
    }

    const RIGHT: &str = "the last run was right at full throttle (2026-05-15, setup 3)";
    const LEAN: &str = "the last run on this combination was lean (\"seized\") at full throttle (2026-05-15)";

    #[test]
    fn a_reason_of_a_cylinder_whose_name_begins_like_another_takes_nothing_from_that() {
        let right = told("r", RIGHT, LastVerdict::Right);
        let other = [refused(Some("rear"), "Cylinder rear: Two things: main 162 -> 158, 2 sizes leaner; …")];
        let both = other[0].sentence.without_commands();
        let whole = "Cylinder r: Main 162 -> 158, 2 sizes leaner";
        assert_eq!(right.beside(&other).unwrap().sentence(), format!("{whole}."), "what is well is left out");
        assert_eq!(right.beside(&[]).unwrap().sentence(), format!("{whole}; {RIGHT}."));
        for own in [Some("r"), None] {
            assert_eq!(right.beside(&[refused(own, &both)]), None);
        }
        // A lean run is said beside any reason.
        let lean = told("r", LEAN, LastVerdict::Lean).beside(&[refused(None, &both)]).unwrap();
        assert_eq!(lean.sentence(), format!("Cylinder r: {}.", capital(LEAN)));
    }

    #[test]
    fn too_much_in_one_step_is_said_of_what_is_too_much() {
        let mut far = told("left", RIGHT, LastVerdict::Right);
        far.parts.push("spark 1.2 -> 1.6 mm, earlier".to_owned());
        far.at_once = true;
        assert!(far.sentence().contains("earlier in one step; the last run was right"));
        let left = far.beside(&[refused(Some("left"), "After a lean run: spark 1.2 -> 1.6 mm, earlier.")]);
        assert_eq!(left.unwrap().sentence(), "Cylinder left: Main 162 -> 158, 2 sizes leaner.");
    }

    #[test]
    fn a_last_run_that_was_lean_is_known_by_what_it_was_and_said_once() {
        let all = [told("left", LEAN, LastVerdict::Lean), told("right", LEAN, LastVerdict::Lean)];
        let said = |all: &[Told]| lean_last_runs(all).iter().map(Told::sentence).collect::<Vec<_>>();
        assert_eq!(said(&all), [format!("{}.", capital(LEAN))]);
        assert_eq!(said(&all[1..]), [format!("Cylinder right: {}.", capital(LEAN))]);
        assert_eq!(said(&[told("left", RIGHT, LastVerdict::Right)]), Vec::<String>::new());
        let closed = "the cause of the last lean run is closed (2026-05-15)";
        assert_eq!(said(&[told("left", closed, LastVerdict::Nothing)]), Vec::<String>::new());
    }
}
