//! What an outing calls for before the next run, and what it cannot tell.

use crate::advice::apart::apart;
use crate::advice::closing::was_lean;
use crate::advice::held;
use crate::advice::learning::{FULL_THROTTLE, Said, THE_ENGINE, said_of_lean, sign_of_lean};
use crate::notebook::fields::names::visible;
use crate::notebook::{Doubted, Mixture, Outing, Verdict};
use crate::report::history::outing::text::{
    LEAN, LEAN_BELOW_FULL, SLIGHTLY_LEAN, SLIGHTLY_LEAN_BELOW_FULL, said_to_be_lean,
};
use crate::report::history::outing::{OutingEntry, SeenAt};
use crate::report::history::questioned::left_out;
use crate::report::words::layout::capital;
use crate::store::OutingRecord;

impl OutingEntry<'_> {
    /// What it offers, and what it cannot tell; `vouch` where it may be offered to mark the setup.
    pub(in crate::report::history) fn what_follows(&self, vouch: bool) -> impl Iterator<Item = String> {
        let vouch = self.to_vouch().filter(|_| vouch).map(|(what, command)| format!("{what} `{command}`."));
        let known = self
            .contradicted()
            .into_iter()
            .chain(self.without_air())
            .chain(self.doubts().into_iter().map(|(_, line)| line));
        vouch.into_iter().chain(known)
    }

    /// A word like "seized" that is said of a thing nobody knows here.
    pub(in crate::report::history) fn asked(&self) -> Option<String> {
        let of_all = self.of_all();
        let Said::Unclear { word, thing } = said_of_lean(&of_all, &self.own) else { return None };
        let word = visible(&word);
        let says = capital(held::where_said(&of_all));
        if thing == FULL_THROTTLE {
            let texts = [&of_all.notes, &of_all.feel].into_iter().flatten();
            let is_there = texts.map(|text| text.to_lowercase()).any(|text| text.contains(word.as_str()));
            let said = if is_there {
                format!("{says} \"{word}\"")
            } else {
                says.replace(" say", " sound") + " lean"
            };
            return Some(format!(
                "{said}, and full throttle was not judged: taken as lean until you say how it was. Read plug and piston before it is held open again. If it was right: `reedbook outing edit {} {} full=right`.",
                self.record.bike, self.id
            ));
        }
        let said = match thing.as_str() {
            THE_ENGINE => format!(
                "{says} \"{word}\": if it was the engine, it was lean, and it is taken so until you say."
            ),
            thing => {
                format!("{says} \"{word}\" of \"{}\": taken as lean until you say.", visible(thing))
            }
        };
        Some(format!(
            "{said} Do not run it on: read plug and piston, and find out why. If it was not the engine: `reedbook outing edit {} {} --cause \"not the engine\"`.",
            self.record.bike, self.id
        ))
    }

    /// What of it is doubted.
    pub(in crate::report::history) fn doubts(&self) -> Vec<(Doubted, String)> {
        // Which setup it was matters where it was lean.
        let lean = was_lean(&self.record.outing);
        let doubted = self.doubted.iter().filter(|what| **what != Doubted::Setup || lean);
        doubted
            .map(|what| {
                let (word, are) = (what.word(), if *what == Doubted::Hours { "are" } else { "is" });
                let line = format!(
                    "Its {word} {are} marked as doubted and {}: `reedbook outing edit {} {} --confirm {word}`.",
                    left_out(*what),
                    self.record.bike,
                    self.id
                );
                (*what, line)
            })
            .collect()
    }

    /// What a lean verdict, or a word like it, calls for.
    pub(in crate::report::history) fn before_the_next_run(&self) -> Option<String> {
        if self.record.outing.is_closed() {
            return None;
        }
        let of_one = |(name, record): &(String, OutingRecord)| {
            let words = OutingEntry::of(record).among(self.own.clone()).before_the_next_run()?;
            (Some(&words) != self.for_all().as_ref()).then(|| format!("Cylinder {name}: {words}"))
        };
        let own: Vec<String> = self.own_records().iter().filter_map(of_one).collect();
        let apart = apart(&self.record.outing).into_iter().map(|one| visible(&one.sentence));
        let said: Vec<String> = own.into_iter().chain(self.for_all()).chain(apart).collect();
        (!said.is_empty()).then(|| said.join(" "))
    }

    /// The outing as it is written of all cylinders: without what is said of one of them.
    fn of_all(&self) -> Outing {
        let each = self.record.outing.at_each_cylinder();
        each.into_iter().next().map_or_else(|| self.record.outing.clone(), |(_, outing)| outing)
    }

    pub(in crate::report::history) fn for_all(&self) -> Option<String> {
        if let Some(asked) = self.asked() {
            return Some(asked);
        }
        let of_all = self.of_all();
        if let Some(sign) = sign_of_lean(&of_all) {
            return Some(said_to_be_lean(&capital(held::where_said(&of_all)), &sign));
        }
        let full = self.verdict.full;
        let lean = self.verdict.judged().any(|(_, mixture)| mixture == Mixture::Lean);
        if lean && full.is_none_or(|full| full > Mixture::SlightlyLean) {
            return Some(LEAN_BELOW_FULL.into());
        }
        (lean || full == Some(Mixture::SlightlyLean))
            .then(|| (if lean { LEAN } else { SLIGHTLY_LEAN }).to_owned())
    }

    /// What a verdict that was only slightly lean below full throttle calls for, at any cylinder, where nothing worse is called for. It takes
    /// the place of no other word on the run.
    pub(in crate::report::history) fn slightly_lean_below_full(&self) -> Option<&'static str> {
        let each = self.record.outing.at_each_cylinder();
        let below = each.iter().flat_map(|(_, own)| own.verdict.iter().flat_map(Verdict::zones));
        let slightly =
            below.into_iter().any(|(zone, mixture)| zone != "full" && mixture == Mixture::SlightlyLean);
        let alone = !self.record.outing.is_closed() && self.before_the_next_run().is_none();
        (slightly && alone).then_some(SLIGHTLY_LEAN_BELOW_FULL)
    }

    /// A lean run with jobs open: what ran lean may have been the richer jet, and nothing leaner than that is safe.
    pub(in crate::report::history) fn not_ticked(&self, open: &str) -> Option<String> {
        let outing = &self.record.outing;
        let doubted = outing.doubts(Doubted::Setup) && was_lean(outing) && !outing.is_closed();
        doubted.then(|| {
            let what = if open.is_empty() { "what was recorded before it" } else { open };
            format!(
                "Never ticked: {what}. Say what was on it: until then the richest that may have been is taken to have run lean."
            )
        })
    }

    /// What marks the setup as proven, where all was right: what for, and the command.
    pub(in crate::report::history) fn to_vouch(&self) -> Option<(String, String)> {
        let right = self.verdict.full == Some(Mixture::Right)
            && self.verdict.judged().all(|(_, mixture)| mixture == Mixture::Right)
            && self.before_the_next_run().is_none()
            && !self.record.outing.is_closed()
            && self.contradicted().is_none()
            && self
                .cylinders
                .values()
                .all(|own| own.verdict.judged().all(|(_, mixture)| mixture == Mixture::Right));
        let (with, typed) = match (&self.air, self.record.outing.doubts(Doubted::Air)) {
            (Some(_), false) => (", with this air", ""),
            (Some(_), true) => ("", ""),
            (None, _) => (", with the air it ran in", " --temp … --baro … --humidity …"),
        };
        right.then(|| {
            (
                format!("To mark the setup as proven{with}:"),
                format!("reedbook proven {}{typed}", self.record.bike),
            )
        })
    }

    /// A verdict of right beside words that look lean.
    pub(in crate::report::history) fn contradicted(&self) -> Option<String> {
        held::contradicted(&self.record.outing).filter(|_| self.before_the_next_run().is_none())
    }

    /// What to say of a verdict that the jetting cannot learn from.
    pub(in crate::report::history) fn without_air(&self) -> Option<String> {
        let of_one = |own: &SeenAt<'_>| own.verdict.judged().next().is_some();
        let judged = self.verdict.judged().next().is_some() || self.cylinders.values().any(of_one);
        (judged && self.air.is_none())
            .then(|| "No air was noted, so the jetting cannot learn from this verdict.".to_owned())
    }
}
