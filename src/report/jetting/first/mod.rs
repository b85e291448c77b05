//! What stands before an advice: a run that forbids anything leaner, a run that the record cannot explain, and what it stands on.

pub mod before;
pub mod moved_on;

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::held::{self, Hold};
use crate::advice::learning::verdicts::Judged;
use crate::advice::learning::{Evidence, Floor, LearnedAnswer, SURPRISING};
use crate::notebook::fields::names::visible;
use crate::notebook::throttle;
use crate::quantity::{fixed, trimmed};
use crate::report::out::figure::Figure;
use crate::report::words::layout::signed;
use crate::store::OutingRecord;

/// What to look for before anything else where an engine does not run as its record says (common practice, no source).
const LOOK_FOR: &str =
    "an air leak, a blocked jet, slipped ignition timing, other fuel, a barometer that was misread";

/// The same where it ran richer than its record says (common practice, no source).
const LOOK_FOR_RICH: &str = "a choke left on, a float or its needle that sticks, a full air filter, worn reeds, other fuel, a barometer that was misread";

/// Off the baseline by more than this it is said, ln fuel (common practice, no source).
const DRIFTED: f64 = 0.01;

/// The run that demands most at full throttle, or else at any; one that nothing has let go yet before the others.
fn foremost<'h>(held: &'h [(&'h Hold, Floor)]) -> Option<&'h Hold> {
    let all = || held.iter().map(|(hold, _)| *hold);
    held::foremost(all().filter(|hold| !hold.let_go)).or_else(|| held::foremost(all()))
}

/// What stands before the answer: after a seizure, what is to be found out first.
pub(super) fn after_a_seizure(bike: &str, held: &[(&Hold, Floor)]) -> Option<String> {
    let hold = foremost(held).filter(|hold| hold.seizure)?;
    Some(format!(
        "{bike}: nothing leaner. The run of {}{} {}. Find out why before it is started again: plug, piston, fuel, leaks, spark. Only then:",
        hold.outing.outing.date.short(),
        on_main(hold),
        ran(hold),
    ))
}

/// The run that seized, where the answer begins with it.
pub(super) fn that_seized<'h>(held: &'h [(&'h Hold, Floor)]) -> Option<&'h OutingRecord> {
    foremost(held).filter(|hold| hold.seizure).map(|hold| &hold.outing)
}

/// What a run that was heard to detonate asks for, whatever jet goes in (common practice, no source).
pub(super) fn detonated(held: &[(&Hold, Floor)]) -> Option<String> {
    let hold = foremost(held).filter(|hold| hold.is_detonation() && !hold.mended)?;
    Some(format!(
        "The run of {} detonated (\"{}\"): do not run it on as it is. The fuel, too early a spark or too much squeeze may be the cause as much as the jet; the spark goes later, never earlier.",
        hold.outing.outing.date.short(),
        visible(&hold.words)
    ))
}

/// What became of a setup that was right once: ", before it seized on 22 Aug".
pub(super) fn before_it_was_lean(held: &[(&Hold, Floor)], setup: u32) -> String {
    let since =
        foremost(held).filter(|hold| hold.setup() == Some(setup) && (hold.zone == "full" || hold.seizure));
    since.map_or_else(String::new, |hold| {
        format!(
            ", before it {} on {}",
            if hold.seizure { "seized" } else { "ran lean" },
            hold.outing.outing.date.day()
        )
    })
}

fn on_main(hold: &Hold) -> String {
    hold.main.map(|main| format!(" on main {}", trimmed(main, 2))).unwrap_or_default()
}

/// Why nothing leaner is advised, in a line.
pub(super) fn nothing_leaner(held: &[(&Hold, Floor)]) -> Option<String> {
    let hold = foremost(held)?;
    let mut others: Vec<&str> =
        held.iter().map(|(other, _)| other.outing.id.as_str()).filter(|id| *id != hold.outing.id).collect();
    others.sort_unstable();
    others.dedup();
    let more = match others.len() {
        0 => String::new(),
        1 => " Another run rules it out too (-v).".to_owned(),
        several => format!(" {several} other runs rule it out too (-v)."),
    };
    let run = format!(
        "the run of {}{}{}, {}",
        hold.outing.outing.date.short(),
        hold.on_setup(),
        if hold.zone == "full" { on_main(hold) } else { String::new() },
        ran(hold),
    );
    let zones = zones_of(held, hold);
    Some(if hold.let_go {
        format!("Not back to what was lean at {zones}: {run}. A later one was not.{more}")
    } else {
        format!("Nothing leaner at {zones}: {run}.{more}")
    })
}

/// What stands behind the answer: why nothing leaner is advised, and the way out.
pub(super) fn why_nothing_leaner(bike: &str, held: &[(&Hold, Floor)]) -> Vec<String> {
    let Some(hold) = foremost(held) else { return Vec::new() };
    let sizes = if hold.sizes() == 1 { "a size" } else { "two sizes" };
    let until = if hold.mended {
        "It holds until the engine has run since.".to_owned()
    } else {
        format!(
            "It holds until a later run on at least as much fuel is right or rich, or its cause is found and fixed: `reedbook outing edit {bike} {} --cause \"…\" --fixed \"…\"`.",
            visible(&hold.outing.id)
        )
    };
    if hold.let_go {
        let mut lines = vec![format!(
            "Not back to what was lean at {}, for this air: the run of {} (setup {}{}) {}. A later one was right or rich there: what lies between the two is allowed.",
            zones_of(held, hold),
            hold.outing.outing.date.short(),
            hold.setup().unwrap_or_default(),
            hold.main.map(|main| format!(", main {}", trimmed(main, 2))).unwrap_or_default(),
            ran(hold),
        )];
        lines.extend(others_that_hold(held, hold));
        return lines;
    }
    let mut lines = vec![format!(
        "Nothing leaner than {sizes} above that run, for this air, at {}: the run of {} (setup {}{}) {}. {until}",
        zones_of(held, hold),
        hold.outing.outing.date.short(),
        hold.setup().unwrap_or_default(),
        hold.main.map(|main| format!(", main {}", trimmed(main, 2))).unwrap_or_default(),
        ran(hold),
    )];
    if hold.air().is_none() {
        lines.push("Its air was not written down, so it holds in any.".to_owned());
    }
    lines.extend(others_that_hold(held, hold));
    lines
}

/// What other runs forbid than the one that is named, a sentence each.
fn others_that_hold(held: &[(&Hold, Floor)], named: &Hold) -> Vec<String> {
    let others = held.iter().filter(|(other, _)| other.outing.id != named.outing.id);
    let words = others.map(|(other, _)| {
        let holds = if other.let_go { "is not gone back to" } else { "holds as well" };
        format!(
            "At {} the run of {} {holds}: it {}.",
            throttle(other.zone),
            other.outing.outing.date.short(),
            ran(other)
        )
    });
    words.collect()
}

/// How a run that holds ran: "was slightly lean", or the word in its notes: "seized", "was lean ("pinks")".
pub(super) fn ran(hold: &Hold) -> String {
    let words = visible(&hold.words);
    match (hold.seizure, hold.words.ends_with("lean")) {
        (true, _) if hold.words.ends_with("ed") => words,
        (_, true) => format!("was {words}"),
        _ => format!("was lean (\"{words}\")"),
    }
}

fn zones_of(held: &[(&Hold, Floor)], of: &Hold) -> String {
    let zones: Vec<String> = held
        .iter()
        .filter(|(hold, _)| hold.outing.id == of.outing.id)
        .map(|(hold, _)| throttle(hold.zone))
        .collect();
    zones.join(" and ")
}

/// Said before any size where the newest run is not to be explained.
pub(super) fn surprise(learned: &LearnedAnswer, evidence: &Evidence) -> Option<String> {
    let chance = learned.surprise()?;
    let (place, _) = learned.newest?;
    let (witness, verdict) = evidence.of("full").nth(place)?;
    let is_rich = matches!(verdict.judged, Judged::Rich | Judged::SlightlyRich);
    let look_for = if is_rich { LOOK_FOR_RICH } else { LOOK_FOR };
    let one_in = (1.0 / chance.max(1e-4)).round();
    let run = &witness.outing;
    // A lean verdict is believed: what explains it away is looked for at the bike.
    let slip = if matches!(verdict.judged, Judged::Lean | Judged::SlightlyLean) {
        String::new()
    } else {
        format!(
            " If its verdict or its air was typed wrongly: `reedbook outing edit {} {} full=…`.",
            run.bike,
            visible(&run.id)
        )
    };
    Some(format!(
        "The run of {} was {}, which its record expects of 1 run in {}: look for {look_for}, before re-jetting.{slip}",
        run.outing.date.short(),
        crate::report::jetting::record::judged_words(verdict.judged),
        trimmed(one_in, 0),
    ))
}

/// What has become of the proven jet. That less would be right is not said beside a lean run, nor where more is fitted.
pub(super) fn drifted(learned: &LearnedAnswer, baseline: u32, may_be_leaner: bool) -> Option<String> {
    let off = learned.off_baseline.filter(|off| off.mean.abs() > DRIFTED && off.mean.abs() > off.sd)?;
    if off.mean < 0.0 && !may_be_leaner {
        return None;
    }
    let percent = 100.0 * (off.mean.exp() - 1.0);
    let way = if percent < 0.0 { "leaner" } else { "richer" };
    Some(format!(
        "The right mixture is now {} % {way} than what setup {baseline} delivers.",
        fixed(percent.abs(), 1)
    ))
}

/// Whether the record has earned to go leaner than theory.
pub(super) fn trust(learned: &LearnedAnswer) -> Option<String> {
    let trust = learned.trust.filter(|_| learned.held_by_theory)?;
    let earned = trust.sizes_leaner();
    Some(if earned > 0 {
        format!(
            "A leaner size would cost less by the record; {} verdicts of this combination came out as expected, which allows {} below theory's.",
            trust.verdicts,
            crate::report::words::layout::count(earned, "size")
        )
    } else if trust.verdicts < crate::advice::learning::FORETOLD_TO_TRUST {
        format!(
            "A leaner size would cost less by the record. Not leaner than theory until {} verdicts of this combination came out as expected: {} so far.",
            crate::advice::learning::FORETOLD_TO_TRUST,
            trust.verdicts
        )
    } else {
        format!(
            "A leaner size would cost less by the record, but its verdicts do not come out as expected ({} lean, {} expected): not leaner than theory.",
            trust.lean_came,
            fixed(trust.lean_foretold, 1)
        )
    })
}

/// The chance of a sudden change.
pub(super) fn change(learned: &LearnedAnswer) -> Option<String> {
    let (chance, since) = learned.change;
    let since = since.filter(|_| chance > 0.005)?;
    let before = if since == 1 { "the newest run".to_owned() } else { format!("the newest {since} runs") };
    Some(format!(
        "That something changed suddenly before {before} has a chance of {}; what is believed is widened by it.",
        crate::report::jetting::record::percent(chance)
    ))
}

/// The sizes with what each would cost, as rows: size, lean, right, rich, cost, and what it is.
pub(super) fn prices(learned: &LearnedAnswer, fit: Option<f64>, injected: bool) -> Vec<Vec<String>> {
    let is_fit = |size: f64| fit.is_some_and(|fit| (fit - size).abs() < 1e-6);
    // As needle and clip will hang: the chances beside it are for that too.
    let all = if learned.as_hung.is_empty() { &learned.priced } else { &learned.as_hung };
    let at = all.iter().position(|priced| is_fit(priced.candidate.size)).unwrap_or_default();
    let rows = all.iter().enumerate().filter(|(place, _)| place.abs_diff(at) <= 4);
    rows.map(|(_, priced)| {
        let size = priced.candidate.size;
        let note = match (is_fit(size), priced.allowed, (priced.with_change - priced.cost).abs() < 1e-12) {
            (true, _, true) => "fit: on the bike",
            (true, _, false) => "fit",
            (_, false, _) => "not allowed",
            (_, true, true) => "on the bike",
            (_, true, false) => "",
        };
        vec![
            if injected { format!("{} %", signed(size, 1)) } else { trimmed(size, 2) },
            crate::report::jetting::record::percent(priced.chances.lean),
            crate::report::jetting::record::percent(priced.chances.right),
            crate::report::jetting::record::percent(priced.chances.rich),
            fixed(priced.with_change, 2),
            note.to_owned(),
        ]
    })
    .collect()
}

/// A run that forbids going leaner.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct HeldRun<'a> {
    /// The throttle zone.
    zone: &'static str,
    /// Identity of the outing.
    outing: &'a str,
    /// When it ran.
    date: String,
    /// Number of the setup it ran; null where it is not known.
    setup: Option<u32>,
    /// The main jet that ran; null where it is not known.
    main: Option<f64>,
    /// How it ran: its verdict, or the word in its notes.
    words: &'a str,
    /// Whether the engine seized.
    seizure: bool,
    /// Sizes above that run that are the least.
    sizes_richer: u32,
    /// The least fuel allowed in the air asked for, over what the baseline delivers: a factor.
    least: Figure<5>,
}

impl<'a> From<&(&'a Hold, Floor)> for HeldRun<'a> {
    fn from((hold, floor): &(&'a Hold, Floor)) -> Self {
        Self {
            zone: hold.zone,
            outing: &hold.outing.id,
            date: hold.outing.outing.date.to_string(),
            setup: hold.setup(),
            main: hold.main,
            words: &hold.words,
            seizure: hold.seizure,
            sizes_richer: hold.sizes(),
            least: Figure(floor.least),
        }
    }
}

/// The newest verdict at full throttle, and the chance that it had.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct NewestVerdict<'a> {
    /// Identity of the outing.
    outing: &'a str,
    /// The chance, 0 to 1.
    chance: Figure<5>,
    /// Whether that is below 2 %: then something other than chance is likelier.
    is_surprising: bool,
    /// The chance that something changed suddenly before one of the newest runs, 0 to 1.
    change_chance: Figure<4>,
}

impl<'a> NewestVerdict<'a> {
    /// Of the combination on the bike; none without one.
    pub(super) fn of(learned: Option<&LearnedAnswer>, evidence: Option<&'a Evidence>) -> Option<Self> {
        let learned = learned?;
        let (place, chance) = learned.newest?;
        let (witness, _) = evidence?.of("full").nth(place)?;
        Some(Self {
            outing: &witness.outing.id,
            chance: Figure(chance),
            is_surprising: chance < SURPRISING,
            change_chance: Figure(learned.change.0),
        })
    }
}
