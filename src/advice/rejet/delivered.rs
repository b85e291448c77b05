//! What one setup delivers over another at each throttle zone: the circuits alone, whatever the air.

use super::jet::alone::fuel_of_main_alone;
use super::jet::in_bike::JetInBike;
use super::jet::jets::Jets;
use super::jet::screw::turns;
use super::needle::needle_path::NeedlePath;
use super::whole::pilot_table;
use crate::engine::EngineError;
use crate::engine::carburetor::{Carburetor, PowerJets, both_circuits, screw_factor};
use crate::notebook::{Circuit, Injection, JetBox, Jetting, NeedleBox, Setup, Shares, ZONES};
use crate::quantity::{Kind, Measure, nearly_equal};

/// A factor on the fuel, or why it cannot be said, in words without a full stop.
type Said = Result<f64, String>;

/// For each zone of [`ZONES`] the fuel that `other` passes over what `setup` passes in the same air, or why it cannot be said, in
/// words without a full stop: all jets, needle, clip, shim, needle jet, pilot screw and power jet, by the circuits' theory
/// ([`crate::engine::carburetor`]); for fuel injection the trim.
///
/// Where the needle is not known, full throttle goes by the main jets alone, and the clip is left out there. What neither setup
/// knows of the pilot circuit is taken as the same. Maps in files are compared by the files' names.
pub fn delivered_at(
    setup: &Setup,
    other: &Setup,
    jets: &JetBox,
    needles: &NeedleBox,
    shares: &Shares,
) -> Vec<(&'static str, Result<f64, String>)> {
    match ((&setup.jetting, &setup.injection), (&other.jetting, &other.injection)) {
        ((Some(before), None), (Some(after), None)) => {
            Pair { before, after, jets, needles, shares }.by_zone()
        }
        ((None, Some(before)), (None, Some(after))) => everywhere(&injected(before, after)),
        _ => everywhere(&Err("not both have a carburetor, or not both fuel injection".into())),
    }
}

fn everywhere(said: &Said) -> Vec<(&'static str, Said)> {
    ZONES.map(|(zone, _, _)| (zone, said.clone())).to_vec()
}

/// The trims, the injectors and what each passes, where map and dead time are the same.
fn injected(before: &Injection, after: &Injection) -> Said {
    let same_map = before.fuel == after.fuel
        && before.rpm == after.rpm
        && before.throttle == after.throttle
        && before.fuel_map_unit == after.fuel_map_unit;
    if !same_map {
        return Err("the fuel map differs".into());
    }
    if differ(before.dead_time.as_ref(), after.dead_time.as_ref()) {
        return Err("injection.dead_time differs".into());
    }
    // By volume and by mass are not set against each other.
    let flow = share(before.flow.as_ref(), after.flow.as_ref()).ok_or("injection.flow differs")?;
    let count =
        share(before.injectors.as_ref(), after.injectors.as_ref()).ok_or("injection.injectors differs")?;
    let pressure = share(before.fuel_pressure.as_ref(), after.fuel_pressure.as_ref());
    // What flows through an opening goes as the root of the pressure (Bernoulli).
    let pressure = pressure.ok_or("injection.fuel_pressure differs")?.sqrt();
    let fuel = |injection: &Injection| 1.0 + injection.trim.as_ref().map_or(0.0, Measure::si);
    Ok(flow * count * pressure * fuel(after) / fuel(before))
}

/// One reading over another; 1 where one of them is not known, and none where they do not measure the same.
fn share<K: Kind>(before: Option<&Measure<K>>, after: Option<&Measure<K>>) -> Option<f64> {
    let Some((before, after)) = before.zip(after) else { return Some(1.0) };
    if before.quantity().same_as(after.quantity()) {
        return Some(1.0);
    }
    let alike = before.quantity().dimension() == after.quantity().dimension();
    let share = after.si() / before.si();
    Some(share).filter(|share| alike && share.is_finite() && *share > 0.0)
}

/// Whether both are known and are not the same.
fn differ<K: Kind>(before: Option<&Measure<K>>, after: Option<&Measure<K>>) -> bool {
    before.zip(after).is_some_and(|(before, after)| !before.quantity().same_as(after.quantity()))
}

/// Whether both are the same, or neither is known.
fn same<K: Kind>(before: Option<&Measure<K>>, after: Option<&Measure<K>>) -> bool {
    before.is_some() == after.is_some() && !differ(before, after)
}

/// Words for an error, without its full stop.
fn words(error: &impl std::fmt::Display) -> String {
    error.to_string().trim_end_matches('.').to_owned()
}

/// Two carburetors, or one at two times.
#[derive(Clone, Copy)]
struct Pair<'a> {
    before: &'a Jetting,
    after: &'a Jetting,
    jets: &'a JetBox,
    needles: &'a NeedleBox,
    shares: &'a Shares,
}

/// What is known of main jet and needle.
enum MainCircuit {
    /// Both in series.
    Series {
        before: Box<(NeedlePath, f64)>,
        after: Box<(NeedlePath, f64)>,
        power: Result<Option<PowerJets>, String>,
    },
    /// The needle is not known; full throttle may still be said, and what lies below where nothing differs.
    Alone { why: String, at_full: Said, nothing_differs: bool },
}

impl<'a> Pair<'a> {
    fn by_zone(&self) -> Vec<(&'static str, Said)> {
        let pilot = self.pilot();
        let main = match self.main_circuit() {
            Ok(main) => main,
            Err(why) => MainCircuit::Alone { at_full: Err(why.clone()), why, nothing_differs: false },
        };
        let not_modelled = self.not_modelled();
        let table = pilot_table(self.shares);
        let said = |lift: f64| {
            let other = not_modelled.iter().find(|(_, from, until)| (*from..=*until).contains(&lift));
            match other {
                Some((field, _, _)) => Err(format!("{field} differs, which is not modelled")),
                None if lift <= 0.0 => {
                    pilot.clone()?.ok_or_else(|| "the pilot circuit is not known".to_owned())
                }
                None => main.delivers(lift, &pilot, &table),
            }
        };
        ZONES.map(|(zone, _, lift)| (zone, said(lift))).to_vec()
    }

    /// Fields that differ and whose effect is not modelled, with the lifts at which they count.
    fn not_modelled(&self) -> Vec<(&'static str, f64, f64)> {
        let (before, after) = (self.before, self.after);
        let bore = differ(before.carburetor_bore.as_ref(), after.carburetor_bore.as_ref());
        let air_jet = differ(before.air_jet.as_ref(), after.air_jet.as_ref());
        let cutaway = differ(before.slide_cutaway.as_ref(), after.slide_cutaway.as_ref());
        [
            (bore, ("jetting.carburetor_bore", 0.0, 1.0)),
            (air_jet, ("jetting.air_jet", 0.125, 1.0)),
            // It counts from just open to a quarter (common practice, no source).
            (cutaway, ("jetting.slide_cutaway", 0.125, 0.25)),
        ]
        .into_iter()
        .filter_map(|(differ, part)| differ.then_some(part))
        .collect()
    }

    /// The pilot circuit's fuel, jet and screw; none where neither setup knows anything of it.
    fn pilot(&self) -> Result<Option<f64>, String> {
        let jet = match (self.jet(Circuit::Pilot, self.before)?, self.jet(Circuit::Pilot, self.after)?) {
            (None, None) => None,
            (Some(before), Some(after)) => Some(area_over(&before, &after)?),
            _ => return Err("jetting.pilot is known of one setup only".into()),
        };
        let screw = match (turns(self.before), turns(self.after)) {
            (None, None) => None,
            (Some((screw, before)), Some((other, after))) if screw == other => {
                let richer = if screw == super::Screw::Air { before - after } else { after - before };
                let worth = self.shares.screw_turn.si();
                Some(screw_factor(worth, richer).map_err(|error| words(&error))?)
            }
            (Some(_), Some(_)) => return Err("one setup has an air screw, the other a fuel screw".into()),
            _ => return Err("the pilot screw is known of one setup only".into()),
        };
        Ok(match (jet, screw) {
            (None, None) => None,
            (jet, screw) => Some(jet.unwrap_or(1.0) * screw.unwrap_or(1.0)),
        })
    }

    fn main_circuit(&self) -> Result<MainCircuit, String> {
        let main =
            |jetting| self.jet(Circuit::Main, jetting)?.ok_or_else(|| "jetting.main is not known".to_owned());
        let (before, after) = (main(self.before)?, main(self.after)?);
        let path = |jetting, jets| {
            NeedlePath::read(jetting, self.needles, self.shares, jets).map_err(|unfit| unfit.to_string())
        };
        match (path(self.before, &before.1), path(self.after, &after.1)) {
            (Ok(one), Ok(other)) => Ok(MainCircuit::Series {
                before: Box::new((one, before.0.number)),
                after: Box::new((other, after.0.number)),
                power: self.power_jets(),
            }),
            (Err(why), _) | (_, Err(why)) => Ok(MainCircuit::Alone {
                nothing_differs: self.same_needle()
                    && before.0.numbered_by == after.0.numbered_by
                    && before.0.series == after.0.series
                    && nearly_equal(before.0.number, after.0.number),
                at_full: self.main_alone(&before, &after),
                why,
            }),
        }
    }

    /// Whether the needle and all it hangs in are written down alike.
    fn same_needle(&self) -> bool {
        let (before, after) = (self.before, self.after);
        let shim = |jetting: &Jetting| jetting.shim.as_ref().map_or(0.0, Measure::si);
        before.needle == after.needle
            && same(before.clip.as_ref(), after.clip.as_ref())
            && nearly_equal(shim(before), shim(after))
            && same(before.needle_jet.as_ref(), after.needle_jet.as_ref())
            && same(before.seat_to_needle_jet.as_ref(), after.seat_to_needle_jet.as_ref())
    }

    /// Full throttle by the main jets alone, with a usual needle above them.
    fn main_alone(&self, before: &Sized<'_>, after: &Sized<'_>) -> Said {
        let (one, other) = (self.before, self.after);
        let needle = one.needle.as_ref().zip(other.needle.as_ref()).is_some_and(|(one, other)| one != other);
        let needle_jet = differ(one.needle_jet.as_ref(), other.needle_jet.as_ref());
        if let Some(field) = needle.then_some("jetting.needle").or(needle_jet.then_some("jetting.needle_jet"))
        {
            return Err(format!("{field} differs, and the needle is not known"));
        }
        let same_power = same(one.power_jet.as_ref(), other.power_jet.as_ref())
            && one.power_jet_numbered_by == other.power_jet_numbered_by;
        if !same_power {
            return Err("jetting.power_jet differs, and the needle is not known".into());
        }
        Ok(fuel_of_main_alone(area_over(before, after)?))
    }

    /// The power jets' areas; none where there are none, or where the same one's area is not known and it is left out.
    fn power_jets(&self) -> Result<Option<PowerJets>, String> {
        let jets = (self.jet(Circuit::Power, self.before)?, self.jet(Circuit::Power, self.after)?);
        let area = |jet: &Option<Sized<'_>>| match jet {
            Some((jet, jets)) => jets.scale().area_m2(jet.number),
            None => Ok(0.0),
        };
        match (&jets, area(&jets.0), area(&jets.1)) {
            ((None, None), _, _) => Ok(None),
            (_, Ok(before_m2), Ok(after_m2)) => Ok(Some(PowerJets { before_m2, after_m2 })),
            ((Some(before), Some(after)), _, _) if nearly_equal(area_over(before, after)?, 1.0) => Ok(None),
            _ => Err("jetting.power_jet differs, and its area is not known".into()),
        }
    }

    fn jet(&self, circuit: Circuit, jetting: &'a Jetting) -> Result<Option<Sized<'a>>, String> {
        let (number, numbered_by, series) = match circuit {
            Circuit::Main => (&jetting.main, jetting.main_numbered_by, jetting.main_series.as_ref()),
            Circuit::Pilot => (&jetting.pilot, jetting.pilot_numbered_by, jetting.pilot_series.as_ref()),
            Circuit::Power => (&jetting.power_jet, jetting.power_jet_numbered_by, None),
        };
        let jet = JetInBike::read(circuit, number.as_ref(), numbered_by, series);
        let Some(jet) = jet.map_err(|error| words(&error))? else {
            return Ok(None);
        };
        // What the box holds does not matter here, and so is not said.
        let jets = Jets::at_hand(jet, self.jets, &[], &mut Vec::new()).map_err(|error| words(&error))?;
        Ok(Some((jet, jets)))
    }
}

/// A jet with the scale of its numbers.
type Sized<'a> = (JetInBike<'a>, Jets<'a>);

/// Area of a jet over that of another.
fn area_over(before: &Sized<'_>, after: &Sized<'_>) -> Said {
    let one_scale = before.1.series_name() == after.1.series_name() || before.1.scale() == after.1.scale();
    if before.0.numbered_by == after.0.numbered_by && one_scale {
        let numbering = before.0.numbering();
        return numbering.area_factor(before.0.number, after.0.number).map_err(|error| words(&error));
    }
    let area = |(jet, jets): &Sized<'_>| {
        jets.scale()
            .area_m2(jet.number)
            .map_err(|_| format!("{} is numbered in two ways, and the bores are not known", jet.field))
    };
    Ok(area(after)? / area(before)?)
}

impl MainCircuit {
    /// All the fuel at a lift above closed, with the pilot circuit's.
    fn delivers(&self, lift: f64, pilot: &Result<Option<f64>, String>, table: &[(f64, f64)]) -> Said {
        let full = lift >= 1.0;
        // At full throttle the pilot is left out, known or not.
        let pilot = if full { 1.0 } else { pilot.clone()?.unwrap_or(1.0) };
        let said = |fuel: Result<f64, EngineError>| fuel.map_err(|error| words(&error));
        match self {
            Self::Alone { at_full, .. } if full => at_full.clone(),
            Self::Alone { nothing_differs: true, .. } => {
                let carburetor = Carburetor { full_lift_m: 1.0, pilot_shares: table, annulus_over_main: 1.0 };
                Ok(both_circuits(said(carburetor.pilot_share(lift))?, pilot, 1.0))
            }
            Self::Alone { why, .. } => Err(why.clone()),
            Self::Series { before, after, power } => {
                let power = if full { power.clone()? } else { None };
                let ((one, number), (other, other_number)) = (before.as_ref(), after.as_ref());
                let base = said_fitted(one.fitted(one.full_lift.clip, *number, 1.0))?;
                let fitted = said_fitted(other.fitted(other.full_lift.clip, *other_number, pilot))?;
                said(one.carburetor(table).fuel_over(&base, &fitted, lift, power))
            }
        }
    }
}

fn said_fitted<T>(fitted: Result<T, EngineError>) -> Result<T, String> {
    fitted.map_err(|error| words(&error))
}
