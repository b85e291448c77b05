//! What a rejet answers. Percentages of fuel are above 0 for rich, below 0 for lean.

use crate::notebook::{AirCompensation, Circuit, NumberedBy};
use crate::quantity::{nearly_equal, trimmed};

/// The advice for other air, another fuel or another lambda.
#[derive(Debug, Clone, PartialEq)]
pub struct Rejet {
    /// The factor on the fuel, and its parts.
    pub factor: Factor,
    /// Relative standard uncertainty of the factor from the readings of the air; none where a doubt is not known.
    pub factor_uncertainty: Option<f64>,
    /// Main, pilot and power jet, in this order, as far as the setup has them.
    pub jets: Vec<JetAdvice>,
    /// The clip.
    pub clip: ClipAdvice,
    /// The needle, where another one is to be fitted.
    pub needle: Option<NeedleAdvice>,
    /// The air or fuel screw, when the setup has one.
    pub screw: Option<ScrewAdvice>,
    /// Every throttle zone that can be reckoned, idle first; empty for fuel injection.
    pub zones: Vec<ZoneAdvice>,
    /// Main jets at hand around the exact, the present and the advised one, ascending, with what each delivers; empty for fuel
    /// injection.
    pub mains: Vec<MainSize>,
    /// The trim of an injected bike.
    pub injection: Option<InjectionAdvice>,
    /// What is not known, not proven, not in the box or not safe, as sentences.
    pub warnings: Vec<String>,
    /// The cautions that go with it, as sentences.
    pub cautions: Vec<String>,
    /// The fields of the setup that change, with their new values as a user would write them.
    pub assignments: Vec<(String, String)>,
}

/// The factor on the fuel and what each cause has in it. Pure numbers, the total being the product of the
/// parts; above 1 is more fuel. For a carburetor it is K, on the metering area; for injection the factor on the open time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Factor {
    /// All causes together.
    pub total: f64,
    /// The air: the product of the next three.
    pub air: f64,
    /// More or less oxygen in each volume swallowed.
    pub dry_air: f64,
    /// Carburetor: more or less depression at the venturi for the same air speed.
    pub venturi: Option<f64>,
    /// Injection: what the box corrects by itself, taken off; none where it corrects nothing.
    pub box_correction: Option<f64>,
    /// The fuel's own need of air.
    pub fuel_air: f64,
    /// Another lambda wanted.
    pub lambda: f64,
    /// A denser fuel brings more mass.
    pub fuel_density: f64,
    /// Oil takes the place of fuel.
    pub oil: f64,
}

/// How an exact number was come by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Method {
    /// Main jet and needle annulus in series.
    Series {
        /// Percent of main jet area for one percent of fuel, near the present jet; above 1.
        exponent: f64,
    },
    /// The main jet as if the needle were not there: leans when the air gets denser.
    Simple,
    /// A jet that is alone in its circuit.
    Alone,
}

/// The advice for one jet.
#[derive(Debug, Clone, PartialEq)]
pub struct JetAdvice {
    /// Which circuit.
    pub circuit: Circuit,
    /// Its field in the setup.
    pub field: &'static str,
    /// What its numbers count.
    pub numbered_by: NumberedBy,
    /// The series in configs/jets.toml; none where none fits.
    pub series: Option<String>,
    /// The number in the bike.
    pub current: f64,
    /// The exact number by theory, of a jet that need not exist, for the needle as it hangs now; none where no main jet,
    /// however large, will do.
    pub exact: Option<f64>,
    /// How it was come by.
    pub method: Method,
    /// The jet to fit; none where no size is known, or none of them is safe.
    pub advised: Option<f64>,
    /// One size richer than advised.
    pub richer: Option<f64>,
    /// One size leaner than advised.
    pub leaner: Option<f64>,
    /// Sizes from the present jet to the advised one; below 0 leaner.
    pub sizes_richer: Option<i32>,
    /// The sizes to go through where the advised jet is more than two sizes leaner, the last of them the advised one; empty where
    /// one step does.
    pub steps: Vec<f64>,
    /// By how many percent the present jet would be rich or lean.
    pub unchanged_percent: f64,
    /// By how many percent the advised jet will be rich or lean; none where no jet is advised, or where the simple rule goes up
    /// and cannot say.
    pub advised_percent: Option<f64>,
}

/// The advice to fit another needle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NeedleAdvice {
    /// Code of the needle in the bike.
    pub from: String,
    /// Code of the needle to fit.
    pub to: String,
}

/// One throttle zone with what is advised.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneAdvice {
    /// The zone, as in [`crate::notebook::ZONES`].
    pub zone: &'static str,
    /// Its share of the slide's lift, 0 to 1.
    pub lift: f64,
    /// By how many percent it would be rich or lean if nothing were changed.
    pub left_percent: f64,
    /// By how many percent it will be rich or lean with what is advised; where no main jet is advised, with the present one.
    pub fitted_percent: f64,
    /// Fuel over the baseline's with what is advised. A pure number.
    pub delivered: f64,
}

/// One main jet at hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MainSize {
    /// Its number.
    pub size: f64,
    /// Fuel over the baseline's that it delivers at full throttle with needle and clip as advised. A pure number.
    pub delivered: f64,
}

/// The advice for the clip.
#[derive(Debug, Clone, PartialEq)]
pub enum ClipAdvice {
    /// The needle is not known well enough, or no main jet is advised.
    NotComputed {
        /// What is missing, without a full stop.
        why: String,
    },
    /// The needle is not known well enough, but the bike's record finds a throttle zone that it rules rich or lean: one groove is
    /// worth a try, by a rule of thumb (common practice, no source). Not part of what is recorded.
    Try {
        /// What is missing to reckon it, without a full stop.
        why: String,
        /// Its groove in the setup, from the top, where it is known.
        from: Option<u8>,
        /// The groove to try: one beside it.
        to: Option<u8>,
        /// Whether that is leaner.
        leaner: bool,
        /// Whether the main jet must then be one size richer than advised: full throttle goes leaner with the groove, and has no room.
        main_richer: bool,
        /// The zone that asks for it, as in [`crate::notebook::ZONES`].
        zone: &'static str,
        /// By how many percent that zone is rich or lean by the record; none where a run was lean there, and no more is known.
        percent: Option<f64>,
    },
    /// The clip stays.
    Stays {
        /// Its groove, from the top.
        clip: u8,
        /// By how many percent half throttle will be rich or lean with what is advised.
        half_throttle_percent: f64,
        /// Why it stays, without a full stop.
        why: String,
    },
    /// The clip moves.
    Move {
        /// Its groove now, from the top.
        from: u8,
        /// Its new groove.
        to: u8,
        /// By how many percent half throttle would be rich or lean with the advised jets and screw, needle and clip left.
        before_percent: f64,
        /// By how many percent half throttle will be rich or lean.
        after_percent: f64,
        /// By how many percent full throttle will be rich or lean: never leaner than allowed.
        full_throttle_percent: f64,
    },
}

/// The screw that trims the pilot circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Screw {
    /// Air screw: out is leaner.
    Air,
    /// Fuel screw: out is richer.
    Fuel,
}

/// The advice for the screw.
#[derive(Debug, Clone, PartialEq)]
pub struct ScrewAdvice {
    /// Which screw.
    pub screw: Screw,
    /// Its field in the setup.
    pub field: &'static str,
    /// Turns out from lightly seated, now.
    pub from_turns: f64,
    /// Turns out from lightly seated, advised; 0 to 8.
    pub to_turns: f64,
    /// By how many percent closed throttle will be rich or lean.
    pub left_percent: f64,
    /// The move in words: "out 0.25 turns: leaner", or "stays".
    pub words: String,
}

/// The advice for the trim of an injected bike.
#[derive(Debug, Clone, PartialEq)]
pub struct InjectionAdvice {
    /// What the box corrects by itself.
    pub compensation: AirCompensation,
    /// The exact change of every cell's open time, percent; above 0 is more fuel.
    pub trim_percent: f64,
    /// The trim over the whole map now, percent.
    pub from_percent: f64,
    /// The trim over the whole map to set, percent, up to the next tenth.
    pub to_percent: f64,
    /// What counts as one size of it, percent.
    pub size_percent: f64,
    /// The trim one size richer than advised, percent.
    pub richer_percent: f64,
    /// The trim one size leaner than advised, percent.
    pub leaner_percent: f64,
    /// The trims to go through where the advised one is more than two sizes leaner, percent, the last of them the advised one;
    /// empty where one step does.
    pub steps: Vec<f64>,
    /// What the trim makes up for, as a sentence.
    pub words: String,
}

impl ClipAdvice {
    /// What is worth a try, in words: "one groove leaner (clip 3 to 2): try it; half throttle is about 2.5 % rich by the record. …".
    pub fn worth_a_try(&self) -> Option<String> {
        let Self::Try { from, to, leaner, main_richer, zone, percent, .. } = self else {
            return None;
        };
        let grooves = from.zip(*to).map(|(from, to)| format!(" (clip {from} to {to})")).unwrap_or_default();
        let (way, is) = if *leaner { ("leaner", "rich") } else { ("richer", "lean") };
        let zone = match *zone {
            "quarter" => "a quarter throttle",
            "three_quarters" => "three quarters throttle",
            _ => "half throttle",
        };
        // The groove counts at full throttle too: by how much cannot be said without the needle.
        let besides = match (*leaner, *main_richer) {
            (true, true) => {
                " It makes full throttle a little leaner too, which has no room for it: with the main jet one size richer, and read the plug after it."
            }
            (true, false) => {
                " It makes full throttle a little leaner too: not in one step with a smaller main jet, and read the plug after it."
            }
            (false, _) => "",
        };
        let off = match percent {
            Some(percent) => {
                format!("{zone} is about {} % {is} by the record", crate::quantity::fixed(percent.abs(), 1))
            }
            None => format!("{zone} was {is}, and nothing richer ran there since"),
        };
        Some(format!(
            "one groove {way}{grooves}: try it; {off}. Rule of thumb (common practice, no source), no needle data.{besides}"
        ))
    }
}

impl JetAdvice {
    /// Whether another jet is to be fitted.
    pub fn is_changed(&self) -> bool {
        self.advised.is_some_and(|advised| !nearly_equal(advised, self.current))
    }
}

impl Rejet {
    /// The fields of a carburetor that change.
    pub(super) fn carburetor_assignments(&self) -> Vec<(String, String)> {
        let mut changes: Vec<(String, String)> = self
            .jets
            .iter()
            .filter(|jet| jet.is_changed())
            .filter_map(|jet| Some((jet.field.to_owned(), trimmed(jet.advised?, 4))))
            .collect();
        if let Some(needle) = &self.needle {
            changes.push(("jetting.needle".into(), needle.to.clone()));
        }
        if let ClipAdvice::Move { to, .. } = self.clip {
            changes.push(("jetting.clip".into(), to.to_string()));
        }
        let screw = self.screw.as_ref();
        if let Some(screw) = screw.filter(|screw| !nearly_equal(screw.from_turns, screw.to_turns)) {
            let turns = format!("{} turns", trimmed(screw.to_turns, 4));
            changes.push((screw.field.into(), turns));
        }
        changes
    }

    /// The advice for the main jet, where there is one.
    pub fn main(&self) -> Option<&JetAdvice> {
        self.jets.iter().find(|jet| jet.circuit == Circuit::Main)
    }

    /// Whether no main jet at hand is enough: it is not to be run then.
    pub fn lacks_a_main_jet(&self) -> bool {
        !self.mains.is_empty() && self.main().is_some_and(|main| main.advised.is_none())
    }

    /// Whether anything it advises makes the engine run on less fuel than now.
    pub fn takes_fuel_away(&self) -> bool {
        let less = |fuel: f64| fuel < 1.0 && !nearly_equal(fuel, 1.0);
        let trim = self.injection.as_ref();
        less(self.factor.total)
            || self.zones.iter().any(|zone| less(zone.delivered))
            || trim.is_some_and(|trim| less((100.0 + trim.to_percent) / (100.0 + trim.from_percent)))
    }
}
