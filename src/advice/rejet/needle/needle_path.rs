//! Main jet and needle annulus of a setup, where everything about them is known.

use std::fmt;

use crate::advice::rejet::jet::jets::Jets;
use crate::engine::EngineError;
use crate::engine::carburetor::circuits::FuelPath;
use crate::engine::carburetor::jets::{JetScale, Numbering};
use crate::engine::carburetor::needle::{Needle, NeedleInJet, NeedlePoint, NeedleSetting};
use crate::engine::carburetor::{Carburetor, Fitted};
use crate::notebook::fields::names;
use crate::notebook::{Jetting, NeedleBox, NeedleEntry, Shares};
use crate::quantity::{Measure, nearly_equal, trimmed};

/// Why the needle cannot be reckoned with.
pub(in crate::advice::rejet) enum Unfit {
    /// What the setup or the tables do not have.
    Missing(Missing),
    /// Values that cannot be true together.
    Wrong(EngineError),
}

/// What is missing about needle and main jet.
#[derive(Default)]
pub(in crate::advice::rejet) struct Missing {
    /// Fields of the setup that are not filled in.
    fields: Vec<&'static str>,
    /// What the tables lack, each a sentence without its full stop.
    tables: Vec<String>,
}

impl Missing {
    fn only(words: &str) -> Unfit {
        Unfit::Missing(Self { fields: Vec::new(), tables: vec![words.to_owned()] })
    }

    fn is_none(&self) -> bool {
        self.fields.is_empty() && self.tables.is_empty()
    }
}

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fields = match self.fields.as_slice() {
            [] => None,
            [only] => Some(format!("{only} is not known")),
            [others @ .., last] => Some(format!("{} and {last} are not known", others.join(", "))),
        };
        let said: Vec<String> = fields.into_iter().chain(self.tables.iter().cloned()).collect();
        f.write_str(&said.join("; "))
    }
}

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(missing) => missing.fmt(f),
            // The calculation's sentences end with a full stop; here they are a part of one.
            Self::Wrong(error) => f.write_str(error.to_string().trim_end_matches('.')),
        }
    }
}

/// The fuel's way through main jet and needle annulus.
#[derive(Clone)]
pub(in crate::advice::rejet) struct NeedlePath {
    pub(in crate::advice::rejet) needle: NeedleInJet,
    /// Where the needle hangs with the slide fully up.
    pub(in crate::advice::rejet) full_lift: NeedleSetting,
    /// Ratio of discharge coefficients, annulus over main jet.
    pub(in crate::advice::rejet) annulus_over_main: f64,
    scale: JetScale,
    /// Code and last measured point of the needle, m.
    code: String,
    last_point_m: f64,
    needle_jet_m: f64,
    seat_m: f64,
}

impl NeedlePath {
    /// Everything about needle and main jet, or all that is missing.
    pub(in crate::advice::rejet) fn read(
        jetting: &Jetting,
        needles: &NeedleBox,
        shares: &Shares,
        jets: &Jets<'_>,
    ) -> Result<Self, Unfit> {
        let scale = jets.scale();
        let code = jetting.needle.as_deref().unwrap_or_default();
        let entry = needles.needles.get(code);
        let missing = missing(jetting, entry, scale);

        match (
            entry,
            &jetting.clip,
            &jetting.needle_jet,
            &jetting.seat_to_needle_jet,
            &jetting.carburetor_bore,
        ) {
            (Some(entry), Some(clip), Some(bore), Some(seat), Some(carburetor)) if missing.is_none() => {
                let needle = needle(entry)?;
                let path = Self {
                    needle: NeedleInJet::new(needle, bore.si(), seat.si()).map_err(Unfit::Wrong)?,
                    full_lift: NeedleSetting {
                        // The slide uncovers the whole bore when it is raised by it.
                        lift_m: carburetor.si(),
                        clip: whole(clip.si())
                            .ok_or_else(|| Missing::only("jetting.clip is not a whole number"))?,
                        shim_m: jetting.shim.as_ref().map_or(0.0, Measure::si),
                    },
                    annulus_over_main: shares.annulus_discharge.si(),
                    scale,
                    code: code.to_owned(),
                    last_point_m: last_point_m(entry),
                    needle_jet_m: bore.si(),
                    seat_m: seat.si(),
                };
                // Whether the whole of it makes sense shows only when it is put together.
                path.at_full_lift(jets.number()).map_err(Unfit::Wrong)?;
                Ok(path)
            }
            _ => Err(Unfit::Missing(missing)),
        }
    }

    /// The same path with another needle in it; its clip still has to be chosen.
    pub(in crate::advice::rejet) fn with_needle(
        &self,
        code: &str,
        entry: &NeedleEntry,
    ) -> Result<Self, Unfit> {
        let needle = NeedleInJet::new(needle(entry)?, self.needle_jet_m, self.seat_m);
        Ok(Self {
            needle: needle.map_err(Unfit::Wrong)?,
            code: code.to_owned(),
            last_point_m: last_point_m(entry),
            ..*self
        })
    }

    /// The same path with the clip in another groove.
    pub(in crate::advice::rejet) fn in_groove(self, clip: u8) -> Self {
        Self { full_lift: NeedleSetting { clip, ..self.full_lift }, ..self }
    }

    /// The same path with the needle hung higher by a part of the way from groove to groove.
    pub(in crate::advice::rejet) fn raised(self, part: f64) -> Self {
        let shim_m = self.full_lift.shim_m + part * self.needle.needle().groove_spacing_m();
        Self { full_lift: NeedleSetting { shim_m, ..self.full_lift }, ..self }
    }

    /// The code of the needle.
    pub(in crate::advice::rejet) fn code(&self) -> &str {
        &self.code
    }

    /// Number of clip grooves.
    pub(in crate::advice::rejet) fn grooves(&self) -> u8 {
        self.needle.needle().grooves()
    }

    /// Whether the needle is measured as far as full lift needs with the clip in a groove.
    pub(in crate::advice::rejet) fn reaches(&self, clip: u8) -> bool {
        let at_mouth = self.needle.position_at_mouth_m(NeedleSetting { clip, ..self.full_lift });
        at_mouth.is_ok_and(|position| position <= self.last_point_m)
    }

    /// The carburetor it is in.
    pub(in crate::advice::rejet) fn carburetor<'s>(&self, pilot_shares: &'s [(f64, f64)]) -> Carburetor<'s> {
        Carburetor {
            full_lift_m: self.full_lift.lift_m,
            pilot_shares,
            annulus_over_main: self.annulus_over_main,
        }
    }

    /// The needle with its clip in a groove, with a main jet of this number and the pilot circuit's fuel over the baseline's.
    pub(in crate::advice::rejet) fn fitted(
        &self,
        clip: u8,
        number: f64,
        pilot: f64,
    ) -> Result<Fitted<'_>, EngineError> {
        Ok(Fitted {
            main_area_m2: self.main_area_m2(number)?,
            needle: &self.needle,
            clip,
            shim_m: self.full_lift.shim_m,
            pilot,
        })
    }

    /// The path at full lift with a main jet of this number.
    pub(in crate::advice::rejet) fn at_full_lift(&self, number: f64) -> Result<FuelPath, EngineError> {
        self.at(self.full_lift, number)
    }

    /// The path with the needle at a setting and a main jet of this number.
    pub(in crate::advice::rejet) fn at(
        &self,
        setting: NeedleSetting,
        number: f64,
    ) -> Result<FuelPath, EngineError> {
        FuelPath::new(
            self.main_area_m2(number)?,
            self.needle.annulus_area_m2(setting)?,
            self.annulus_over_main,
        )
    }

    /// Area of a main jet, m2.
    pub(in crate::advice::rejet) fn main_area_m2(&self, number: f64) -> Result<f64, EngineError> {
        self.scale.area_m2(number)
    }

    /// Number of a main jet of an area in m2; none where no jet has it.
    pub(in crate::advice::rejet) fn number_for_area(&self, area_m2: f64) -> Option<f64> {
        self.scale.number_for_area(area_m2).ok()
    }

    /// The exact number of the main jet for a factor on the main circuit at full lift; exactly `number` for a factor of 1.
    pub(in crate::advice::rejet) fn exact_main(&self, number: f64, factor: f64) -> Result<f64, EngineError> {
        let now = self.at_full_lift(number)?;
        let area = now.shift_main(factor)?;
        let numbering: Numbering = self.scale.numbering();
        numbering.number_for(number, area / now.main_area_m2())
    }

    /// What the answer rests on without proof.
    pub(in crate::advice::rejet) fn doubts(&self) -> Vec<String> {
        let mut doubts = Vec::new();
        if nearly_equal(self.annulus_over_main, 1.0) {
            doubts.push(
                "The annulus is taken to pass fuel as well as a main jet of its area (annulus_discharge = 1 in configs/shares.toml): unproven.".into(),
            );
        }
        doubts.extend(self.not_measured());
        doubts
    }

    /// What to say where the needle is not measured as far as full lift needs.
    pub(in crate::advice::rejet) fn not_measured(&self) -> Option<String> {
        let at_mouth = self.needle.position_at_mouth_m(self.full_lift);
        let position = at_mouth.ok().filter(|position| *position > self.last_point_m)?;
        Some(format!(
            "The needle {} is measured to {} mm below its top groove only, and at full lift {} mm stands in the needle jet: taken as thick as at its last point.",
            names::visible(&self.code),
            trimmed(self.last_point_m * 1e3, 1),
            trimmed(position * 1e3, 1)
        ))
    }
}

/// What setup and tables lack of the needle, the jet it hangs in and the main jet below.
fn missing(jetting: &Jetting, entry: Option<&NeedleEntry>, scale: JetScale) -> Missing {
    let fields = [
        ("jetting.needle", jetting.needle.is_some()),
        ("jetting.clip", jetting.clip.is_some()),
        ("jetting.needle_jet", jetting.needle_jet.is_some()),
        ("jetting.seat_to_needle_jet", jetting.seat_to_needle_jet.is_some()),
        ("jetting.carburetor_bore", jetting.carburetor_bore.is_some()),
    ];
    let mut missing = Missing {
        fields: fields.into_iter().filter(|(_, known)| !known).map(|(field, _)| field).collect(),
        tables: Vec::new(),
    };
    if matches!(scale, JetScale::FlowOnly) {
        let words = "the main jet's bore is not known (known_number and known_bore of its series in configs/jets.toml)";
        missing.tables.push(words.into());
    }
    if let Some(needle) = jetting.needle.as_deref().filter(|_| entry.is_none()) {
        let words = format!("the needle \"{}\" is not in configs/needles.toml", names::visible(needle));
        missing.tables.push(words);
    }
    missing
}

/// The needle from its table.
fn needle(entry: &NeedleEntry) -> Result<Needle, Unfit> {
    let points: Vec<_> = entry
        .points
        .iter()
        .map(|[position_mm, diameter_mm]| NeedlePoint {
            position_m: position_mm * 1e-3,
            diameter_m: diameter_mm * 1e-3,
        })
        .collect();
    let grooves = whole(entry.grooves.si())
        .ok_or_else(|| Missing::only("the needle's number of grooves is not a whole number"))?;
    Needle::new(&points, entry.groove_spacing.si(), grooves).map_err(Unfit::Wrong)
}

/// The last measured point of a needle, m below its top groove.
fn last_point_m(entry: &NeedleEntry) -> f64 {
    entry.points.last().map_or(0.0, |point| point[0] * 1e-3)
}

/// A count written as a number.
fn whole(number: f64) -> Option<u8> {
    (0..=u8::MAX).find(|count| nearly_equal(f64::from(*count), number))
}
