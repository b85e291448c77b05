//! The jetting in many airs at once, as a card has it.

use std::collections::{BTreeMap, BTreeSet};

use super::{Question, Unanswered};
use crate::advice::learning::{Adviser, LeanBelowFull};
use crate::advice::rejet::{Rejet, RejetRequest};
use crate::air::Air;
use crate::notebook::NeedleBox;

/// What to fit in one air of several.
pub struct InOneAir {
    /// The answer.
    pub rejet: Rejet,
    /// Whether it brings less at a throttle than a run leaves allowed, with all that the box has: it is not to be run.
    pub is_short: bool,
    /// Whether it takes fuel away from the bike as it stands, at any throttle.
    pub takes_fuel_away: bool,
    /// Where it is lean below full throttle with more than is taken, though a lean run holds there.
    pub over_below_full: Option<LeanBelowFull>,
}

impl InOneAir {
    fn is_not_to_be_run(&self) -> bool {
        self.is_short || self.rejet.lacks_a_main_jet()
    }
}

impl Question<'_> {
    /// What to fit in each air, with one needle besides that of the setup at most: a card is worked from without taking the carburetor
    /// apart for every row. Of several that single airs would take it is the one that most of them take, the first by its code among
    /// those; unless an air then lacks fuel that a lean run asks for.
    pub fn in_each_air(&self, adviser: &Adviser, airs: &[Air]) -> Result<Vec<InOneAir>, Unanswered> {
        let all = self.tables().needles;
        let each = self.with_needles(adviser, airs, all)?;
        let mut taken: BTreeMap<&str, usize> = BTreeMap::new();
        for needle in each.iter().filter_map(|one| one.rejet.needle.as_ref()) {
            *taken.entry(needle.to.as_str()).or_default() += 1;
        }
        let most = taken.values().max().copied();
        let other = taken.iter().find(|(_, airs)| Some(**airs) == most).map(|(needle, _)| *needle);
        let Some(other) = other.filter(|_| taken.len() > 1) else { return Ok(each) };
        let kept: BTreeSet<&str> = self.needle().into_iter().chain([other]).collect();
        let mut needles = all.clone();
        needles.needles.retain(|code, _| kept.contains(code.as_str()));
        let alike = self.with_needles(adviser, airs, &needles)?;
        let mut both = alike.iter().zip(&each);
        let is_worse = both.any(|(alike, each)| alike.is_not_to_be_run() && !each.is_not_to_be_run());
        Ok(if is_worse { each } else { alike })
    }

    fn with_needles(
        &self,
        adviser: &Adviser,
        airs: &[Air],
        needles: &NeedleBox,
    ) -> Result<Vec<InOneAir>, Unanswered> {
        let answer = |air: &Air| {
            let request = RejetRequest { needles, ..self.request(*air, None)? };
            let floors = self.floors(air)?;
            let rejet = adviser.jetting(&request, &floors)?;
            let over_below_full = adviser.over_the_limit_where_held(&rejet, &floors);
            let is_short = self.is_short_of_held(air, &rejet)?;
            Ok(InOneAir { takes_fuel_away: self.takes_fuel_away(&rejet), rejet, is_short, over_below_full })
        };
        airs.iter().map(answer).collect()
    }
}
