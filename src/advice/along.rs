//! What is taken along to the next event: the jets round what the airs want that it may be, with room on both sides, and more of it on
//! the rich one.

use super::asking::{Question, Unanswered};
use super::learning::Settings;
use super::rejet::sizes_at_hand;
use crate::notebook::{AirEntry, Circuit, Doubted};
use crate::quantity::{Quantity, nearly_equal};
use crate::store::{Book, OutingRecord, StoreError};

/// Sizes beside those that are advised: leaner, and richer (common practice, no source).
const LEANER: usize = 1;
const RICHER: usize = 2;
/// Days back from which airs are taken for those of the next event.
const A_YEAR_S: i64 = 365 * 86_400;

/// The airs that an event may have.
#[derive(Debug, Clone)]
pub enum Airs {
    /// One that is known: typed, or kept for the day.
    Known(Box<AirEntry>),
    /// The thinnest and the densest in which the bike ran.
    OfRuns {
        /// Where, if only one place's runs were taken.
        place: Option<String>,
        /// Its thinnest and its densest.
        ends: Box<[AirEntry; 2]>,
        /// Runs whose air is known.
        runs: usize,
    },
}

impl Airs {
    fn each(&self) -> Vec<&AirEntry> {
        match self {
            Self::Known(air) => vec![air],
            Self::OfRuns { ends, .. } => ends.iter().collect(),
        }
    }

    /// Those of a bike's runs: at a place where it ran there, else of a year, else of all; none where no run has an air.
    pub fn of_runs(
        book: &Book<'_>,
        bike: &str,
        place: Option<&str>,
        now: crate::notebook::When,
    ) -> Result<Option<Self>, StoreError> {
        let outings = book.outings(bike)?;
        let known = |record: &&OutingRecord| {
            record.outing.air.as_ref().is_some_and(|air| air.air().is_ok())
                && !record.outing.doubts(Doubted::Air)
        };
        let known: Vec<&OutingRecord> = outings.iter().filter(known).collect();
        let there = |record: &&&OutingRecord| place.is_some() && record.outing.place.as_deref() == place;
        let lately = |record: &&&OutingRecord| now.unix() - record.outing.date.unix() <= A_YEAR_S;
        let at_place: Vec<&OutingRecord> = known.iter().filter(there).copied().collect();
        let of_year: Vec<&OutingRecord> = known.iter().filter(lately).copied().collect();
        let (taken, place) = match (at_place.is_empty(), of_year.is_empty()) {
            (false, _) => (at_place, place.map(str::to_owned)),
            (true, false) => (of_year, None),
            (true, true) => (known, None),
        };
        let mut airs: Vec<(f64, &AirEntry)> = taken
            .iter()
            .filter_map(|record| {
                let air = record.outing.air.as_ref()?;
                Some((air.air().ok()?.relative_density_percent(), air))
            })
            .collect();
        airs.sort_by(|one, other| one.0.total_cmp(&other.0));
        let ends = airs.first().zip(airs.last());
        Ok(ends.map(|(thin, dense)| Self::OfRuns {
            place,
            ends: Box::new([thin.1.clone(), dense.1.clone()]),
            runs: airs.len(),
        }))
    }
}

/// A jet that is taken along.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JetTaken {
    /// Its number.
    pub size: f64,
    /// Whether one of the airs wants it, or it is a step on the way, or lies between two of those.
    pub is_wanted: bool,
    /// Whether it is in the carburetor.
    pub is_in_it: bool,
}

/// The jets of a circuit that are taken along.
#[derive(Debug, Clone)]
pub struct Sizes {
    /// Which.
    pub circuit: Circuit,
    /// The sizes, ascending.
    pub sizes: Vec<JetTaken>,
    /// Whether no jet in the box is enough in one of the airs.
    pub none_is_enough: bool,
}

/// What a bike, or one of its cylinders, wants along.
#[derive(Debug, Clone)]
pub struct JetsAlong {
    /// The jets by circuit; empty with injection.
    pub sizes: Vec<Sizes>,
    /// The least and the most trim that is advised, percent; none with a carburetor.
    pub trim_percent: Option<(f64, f64)>,
    /// Whether a run holds the bike against leaner jets.
    pub held: bool,
}

/// The jets round what these airs want.
///
/// # Errors
/// As [`Question::answer`] has them.
pub fn jets_along(
    question: &Question<'_>,
    airs: &Airs,
    settings: &Settings,
) -> Result<JetsAlong, Unanswered> {
    let weighed = question.weighed(settings, false, None)?;
    let mut along = JetsAlong { sizes: Vec::new(), trim_percent: None, held: false };
    let mut wanted: Vec<(Circuit, f64, Vec<f64>, bool)> = Vec::new();
    for air in airs.each() {
        let found = question.answer_from(air, weighed.clone())?;
        along.held |= !found.held.is_empty();
        for jet in &found.advised.rejet.jets {
            let fit = || jet.advised.into_iter().chain(jet.steps.iter().copied());
            let known = wanted.iter_mut().find(|(circuit, ..)| *circuit == jet.circuit);
            if let Some((_, _, sizes, none)) = known {
                sizes.extend(fit());
                *none |= jet.advised.is_none();
                continue;
            }
            // What is in the bike, which the answer need not stand on; what is recorded alone lies in the box still.
            let still_in = question.still_in(jet.field)?;
            let now = question.now.fields.quantity(jet.field).map(Quantity::value);
            let in_it = still_in.or(now).unwrap_or(jet.current);
            wanted.push((jet.circuit, in_it, fit().collect(), jet.advised.is_none()));
        }
        if let Some(advice) = &found.advised.rejet.injection {
            let (least, most) = along.trim_percent.unwrap_or((advice.to_percent, advice.to_percent));
            along.trim_percent = Some((least.min(advice.to_percent), most.max(advice.to_percent)));
        }
    }
    let tables = question.tables();
    let jetting = question.now.setup.as_ref().and_then(|setup| setup.jetting.as_ref());
    for (circuit, in_it, fit, none_is_enough) in wanted {
        let at_hand =
            jetting.and_then(|jetting| sizes_at_hand(jetting, circuit, tables.jets, tables.own_box));
        let sizes = at_hand.map_or_else(Vec::new, |at_hand| round(&at_hand, &fit, in_it));
        along.sizes.push(Sizes { circuit, sizes, none_is_enough });
    }
    Ok(along)
}

/// The sizes at hand round those that are to be fitted; the richest where none of them is enough.
fn round(at_hand: &[f64], fit: &[f64], in_it: f64) -> Vec<JetTaken> {
    let place = |size: &f64| at_hand.iter().position(|known| nearly_equal(*known, *size));
    let places: Vec<usize> = fit.iter().filter_map(place).collect();
    let last = at_hand.len().saturating_sub(1);
    let least = places.iter().min().copied().unwrap_or(last).saturating_sub(LEANER);
    let most = (places.iter().max().copied().unwrap_or(last) + RICHER).min(last);
    let is_wanted = |place: usize| {
        places.iter().any(|wanted| *wanted <= place) && places.iter().any(|wanted| *wanted >= place)
    };
    let of = |(place, size): (usize, &f64)| JetTaken {
        size: *size,
        is_wanted: is_wanted(place),
        is_in_it: nearly_equal(*size, in_it),
    };
    at_hand.iter().enumerate().filter(|(place, _)| (least..=most).contains(place)).map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::round;

    /// The sizes that go along, those that are wanted, and that which is in the bike.
    fn taken(fit: &[f64], in_it: f64) -> [Vec<f64>; 3] {
        let all = round(&[160.0, 162.0, 165.0, 168.0, 170.0, 172.0, 175.0], fit, in_it);
        let sizes = |of: &dyn Fn(&super::JetTaken) -> bool| {
            all.iter().filter(|jet| of(jet)).map(|jet| jet.size).collect::<Vec<_>>()
        };
        [sizes(&|_| true), sizes(&|jet| jet.is_wanted), sizes(&|jet| jet.is_in_it)]
    }

    #[test]
    fn one_leaner_and_two_richer_than_what_is_to_be_fitted_go_along() {
        let [all, wanted, in_it] = taken(&[162.0, 168.0], 172.0);
        assert_eq!(all, [160.0, 162.0, 165.0, 168.0, 170.0, 172.0]);
        assert_eq!((wanted, in_it), (vec![162.0, 165.0, 168.0], vec![172.0]));
        // What is in it may be wanted, too.
        assert_eq!(taken(&[162.0, 168.0], 165.0)[1..], [vec![162.0, 165.0, 168.0], vec![165.0]]);
        // At an end of the box what there is.
        assert_eq!(taken(&[175.0], 170.0), [vec![172.0, 175.0], vec![175.0], vec![]]);
        // Where nothing is enough the richest goes along, and is not called right.
        assert_eq!(taken(&[], 160.0), [vec![172.0, 175.0], vec![], vec![]]);
    }
}
