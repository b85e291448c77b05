//! The needles at hand in each of their grooves, each with the main jet it takes.

use std::ops::RangeInclusive;

use super::needle_path::NeedlePath;
use super::search::not_below;
use crate::advice::rejet::asked::JetsAsked;
use crate::advice::rejet::jet::main_jet::{Main, PowerBeside, leanest, passes_for};
use crate::advice::rejet::wanted::{EachZone, FULL};
use crate::engine::EngineError;
use crate::engine::carburetor::needle::NeedleSetting;
use crate::notebook::ZONES;
use crate::notebook::fields::names;

/// A needle in one of its grooves with a main jet.
#[derive(Debug, Clone, Copy)]
pub(in crate::advice::rejet) struct Hung {
    /// Place of the needle among those at hand; 0 is the present one.
    pub(in crate::advice::rejet) needle: usize,
    /// Its groove, from the top.
    pub(in crate::advice::rejet) clip: u8,
    /// The main jet.
    pub(in crate::advice::rejet) main: f64,
    /// The main circuit's fuel over the baseline's at each zone where it is known.
    pub(in crate::advice::rejet) over: EachZone<Option<f64>>,
    /// The same at full throttle, where it is leanest.
    pub(in crate::advice::rejet) at_full: f64,
}

/// The needles that can be hung in this carburetor.
pub(in crate::advice::rejet) struct Grooves {
    /// The present needle first.
    paths: Vec<NeedlePath>,
    /// The main circuit's area as it is, at each zone and at full throttle, m2.
    before_m2: EachZone<Option<f64>>,
    full_before_m2: f64,
    power: PowerBeside,
}

impl Grooves {
    /// The needles at hand: those the bike's own box lists, or else all that are measured far enough; the present one always.
    pub(in crate::advice::rejet) fn at_hand(
        present: &NeedlePath,
        (main, power): (f64, PowerBeside),
        asked: &JetsAsked<'_>,
        warnings: &mut Vec<String>,
    ) -> Result<Self, EngineError> {
        let full_before_m2 = present.at_full_lift(main)?.series_area_m2();
        let before_m2 = areas(present, present.full_lift.clip, main);
        let mut paths = vec![present.clone()];
        paths.extend(others(present, asked, warnings));
        Ok(Self { paths, before_m2, full_before_m2, power })
    }

    /// A needle by its place.
    pub(in crate::advice::rejet) fn needle(&self, place: usize) -> Option<&NeedlePath> {
        self.paths.get(place)
    }

    /// A needle in a groove with a main jet; none where they do not go together at a lift at which the present ones do.
    pub(in crate::advice::rejet) fn hung(&self, needle: usize, clip: u8, main: f64) -> Option<Hung> {
        self.hung_on(self.paths.get(needle)?, (needle, clip, main))
    }

    fn hung_on(&self, path: &NeedlePath, (needle, clip, main): (usize, u8, f64)) -> Option<Hung> {
        let at_full = self.at_full_on(path, clip, main)?;
        let after_m2 = areas(path, clip, main);
        let mut over = [None; ZONES.len()];
        for ((over, after), before) in over.iter_mut().zip(after_m2).zip(self.before_m2) {
            if let Some(before) = before {
                *over = Some(after? / before);
            }
        }
        Some(Hung { needle, clip, main, over, at_full })
    }

    /// What a main jet delivers over the baseline's at full throttle with a needle in a groove.
    pub(in crate::advice::rejet) fn at_full(&self, needle: usize, clip: u8, main: f64) -> Option<f64> {
        self.at_full_on(self.paths.get(needle)?, clip, main)
    }

    fn at_full_on(&self, path: &NeedlePath, clip: u8, main: f64) -> Option<f64> {
        let setting = NeedleSetting { clip, ..path.full_lift };
        let area = path.at(setting, main).ok()?.series_area_m2();
        Some(leanest(area / self.full_before_m2, self.power))
    }

    /// The groove that the present needle hangs in.
    pub(in crate::advice::rejet) fn present_clip(&self) -> u8 {
        self.paths.first().map_or(0, |path| path.full_lift.clip)
    }

    /// The needles besides the present one, each with the grooves in which it is measured far enough, or all of them where the bike's own
    /// box lists it.
    pub(in crate::advice::rejet) fn others_that_reach(
        &self,
        asked: &JetsAsked<'_>,
    ) -> Vec<(usize, RangeInclusive<u8>)> {
        let own = asked.own_needles();
        let others = self.paths.iter().enumerate().skip(1);
        let reach = others.filter_map(|(place, path)| {
            let whole_length = own.iter().any(|code| code == path.code());
            // Lower grooves hang the needle higher: what reaches in one reaches in all above.
            let last = (1..=path.grooves()).rev().find(|clip| whole_length || path.reaches(*clip))?;
            Some((place, 1..=last))
        });
        reach.collect()
    }

    /// The present needle in its groove with the smallest main jet that is not too lean at full throttle.
    pub(in crate::advice::rejet) fn as_it_hangs(
        &self,
        main: &Main<'_>,
        asked: &JetsAsked<'_>,
    ) -> Option<Hung> {
        self.with_least_main(0, self.present_clip(), main, (asked, asked.wanted[FULL].least))
    }

    /// A needle in a groove with the smallest main jet that brings no less than `least` at full throttle.
    pub(in crate::advice::rejet) fn with_least_main(
        &self,
        needle: usize,
        clip: u8,
        main: &Main<'_>,
        (asked, least): (&JetsAsked<'_>, f64),
    ) -> Option<Hung> {
        let enough = |size: f64| {
            asked.may_be(size)
                && self.at_full(needle, clip, size).is_some_and(|delivered| not_below(delivered, least))
        };
        let size = main.jets.sizes().iter().copied().find(|size| enough(*size))?;
        self.hung(needle, clip, size)
    }

    /// The same with a main jet that brings exactly that, of a size that need not exist but is neither smaller nor larger than those
    /// at hand.
    ///
    /// `raised` hangs the needle higher than the groove by a part of the way to the next, 0 to 1.
    pub(in crate::advice::rejet) fn with_exact_main(
        &self,
        needle: usize,
        (clip, raised): (u8, f64),
        main: &Main<'_>,
        (asked, least): (&JetsAsked<'_>, f64),
    ) -> Option<Hung> {
        let path = self.paths.get(needle)?;
        let raised = (raised > 0.0).then(|| path.clone().raised(raised));
        let path = raised.as_ref().unwrap_or(path);
        let mut allowed = main.jets.sizes().iter().copied().filter(|size| asked.may_be(*size));
        let (smallest, largest) = (allowed.next()?, main.jets.sizes().last().copied()?);
        let setting = NeedleSetting { clip, ..path.full_lift };
        let ring = path.annulus_over_main * path.needle.annulus_area_m2(setting).ok()?;
        let series = passes_for(least, self.power) * self.full_before_m2;
        // 1/A^2 = 1/Am^2 + 1/Aa^2, solved for the main jet.
        let of_the_jet = series.powi(-2) - ring.powi(-2);
        let exact = if of_the_jet > 0.0 { path.number_for_area(of_the_jet.powf(-0.5)) } else { None };
        let exact = exact.filter(|exact| *exact <= largest * (1.0 + ROUNDING))?;
        self.hung_on(path, (needle, clip, exact.max(smallest)))
    }
}

/// Rounding of a jet's number.
const ROUNDING: f64 = 1e-6;

/// The main circuit's area at each zone where the slide is up, m2; none where the parts do not go together.
fn areas(path: &NeedlePath, clip: u8, main: f64) -> EachZone<Option<f64>> {
    ZONES.map(|(_, _, lift)| {
        let fitted = path.fitted(clip, main, 1.0).ok().filter(|_| lift > 0.0)?;
        path.carburetor(&[]).main_circuit_m2(&fitted, lift).ok()
    })
}

/// The needles besides the present one.
fn others(present: &NeedlePath, asked: &JetsAsked<'_>, warnings: &mut Vec<String>) -> Vec<NeedlePath> {
    let own = asked.own_needles();
    for code in own.iter().filter(|code| !asked.needles.needles.contains_key(code.as_str())) {
        warnings.push(format!(
            "The needle \"{}\" in the bike's box is not in configs/needles.toml: it is left out.",
            names::visible(code)
        ));
    }
    let entries = asked.needles.needles.iter();
    entries
        .filter(|(code, _)| code.as_str() != present.code() && (own.is_empty() || own.contains(code)))
        .filter_map(|(code, entry)| present.with_needle(code, entry).ok())
        .collect()
}
