//! `bikes/<bike>/outings/<when>-<id>.toml`: one time on track, test ground or dyno.

mod said_of;

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use self::said_of::{is_of_another, not_named, says_stopped, stopped_at};
use crate::notebook::documents::air_entry::AirEntry;
use crate::notebook::fields::date::When;
use crate::notebook::zones::ZONES;
use crate::quantity::{EngineSpeed, Hours, Number, Temperature};

/// Where the bike ran.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum OutingKind {
    /// A race or practice on a track or hill.
    #[default]
    Track,
    /// A test away from an event.
    Test,
    /// A dynamometer.
    Dyno,
}

/// How the mixture was, judged by plug, piston, ear and stopwatch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Mixture {
    /// Lean: stop and jet up.
    Lean,
    /// Slightly lean.
    SlightlyLean,
    /// Right.
    Right,
    /// Slightly rich.
    SlightlyRich,
    /// Rich.
    Rich,
}

impl Mixture {
    /// All five, lean first.
    pub const ALL: [Self; 5] = [Self::Lean, Self::SlightlyLean, Self::Right, Self::SlightlyRich, Self::Rich];

    /// A verdict by its word, by its beginning where that is no other's, or as sl and sr; r is right and fat rich, as in the asked form.
    pub fn typed(word: &str) -> Option<Self> {
        let word = word.trim().to_lowercase().replace([' ', '_'], "-");
        // Whoever takes one for its neighbour errs towards rich: taken as right, nothing gets leaner by it.
        let initials = [
            ("sl", Self::SlightlyLean),
            ("sr", Self::SlightlyRich),
            ("r", Self::Right),
            ("ri", Self::Right),
            ("fat", Self::Rich),
        ];
        let known = initials.into_iter().find(|(short, _)| *short == word).map(|(_, mixture)| mixture);
        let whole = || Self::ALL.into_iter().find(|mixture| mixture.word() == word);
        let begins = || {
            let mut begins =
                Self::ALL.into_iter().filter(|mixture| !word.is_empty() && mixture.word().starts_with(&word));
            begins.next().filter(|_| begins.next().is_none())
        };
        known.or_else(whole).or_else(begins)
    }

    /// The verdicts that a word may be the beginning of.
    pub fn may_be(word: &str) -> Vec<Self> {
        let word = word.trim().to_lowercase().replace([' ', '_'], "-");
        let begins = |mixture: &Self| !word.is_empty() && mixture.word().starts_with(&word);
        Self::ALL.into_iter().filter(begins).collect()
    }

    /// Why a word is no verdict, in a sentence: it is none, or can be two.
    pub fn why_none(word: &str, as_typed: &str) -> String {
        let words: Vec<&str> = Self::may_be(word).into_iter().map(Self::word).collect();
        if words.len() < 2 {
            format!("\"{as_typed}\" is not a verdict.")
        } else {
            format!("\"{as_typed}\" can be {}.", words.join(" or "))
        }
    }

    /// In words for reading.
    pub fn words(self) -> &'static str {
        match self {
            Self::Lean => "lean",
            Self::SlightlyLean => "slightly lean",
            Self::Right => "right",
            Self::SlightlyRich => "slightly rich",
            Self::Rich => "rich",
        }
    }

    /// As written in a document.
    pub fn word(self) -> &'static str {
        match self {
            Self::SlightlyLean => "slightly-lean",
            Self::SlightlyRich => "slightly-rich",
            other => other.words(),
        }
    }
}

/// The verdict by throttle zone.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Verdict {
    /// Slide shut: pilot jet and screw.
    pub idle: Option<Mixture>,
    /// An eighth open: pilot jet and slide cutaway.
    pub eighth: Option<Mixture>,
    /// A quarter open: cutaway and needle's straight part.
    pub quarter: Option<Mixture>,
    /// Half open: needle and clip.
    pub half: Option<Mixture>,
    /// Three quarters open: needle taper and main jet.
    pub three_quarters: Option<Mixture>,
    /// Fully open: main jet.
    pub full: Option<Mixture>,
}

impl Outing {
    /// Whether a lean run is explained by something other than the jetting that was found and mended.
    pub fn is_closed(&self) -> bool {
        let said = |text: &Option<String>| text.as_ref().is_some_and(|text| !text.trim().is_empty());
        said(&self.cause)
            && said(&self.mended)
            && !self.blames_the_jetting()
            && !self.says_no_cause()
            && !self.is_not_mended_yet()
            && self.left_open().is_none()
    }

    /// A cylinder that was lean as well, where cause and mend name another one only.
    pub fn left_open(&self) -> Option<String> {
        self.all_left_open().into_iter().next()
    }

    fn all_left_open(&self) -> Vec<String> {
        let said = [&self.cause, &self.mended].into_iter().flatten().map(String::as_str);
        let mut open = not_named(&said.collect::<Vec<_>>().join(". "), &self.cylinder);
        open.retain(|name| {
            let own = self.seen_at(name);
            let judged = own.verdict.as_ref().map(Verdict::zones).unwrap_or_default();
            let words = [&own.notes, &own.piston, &own.plug, &own.feel];
            judged.iter().any(|(_, mixture)| *mixture < Mixture::Right)
                || words.into_iter().flatten().any(|text| says_stopped(text))
        });
        open
    }

    /// Whether what is written down as the cause says that nothing was found.
    pub fn says_no_cause(&self) -> bool {
        use super::cause::{names_nothing, says_nothing, says_well};
        self.cause
            .as_deref()
            .is_some_and(|cause| says_nothing(cause) || says_well(cause) || names_nothing(cause))
    }

    /// Whether its cause names the fuel and nothing that was wrong with it.
    pub fn blames_only_the_fuel(&self) -> bool {
        self.cause.as_deref().is_some_and(super::cause::is_only_the_fuel)
    }

    /// Whether its cause names the piston and nothing that was wrong with it.
    pub fn blames_the_piston(&self) -> bool {
        self.cause.as_deref().is_some_and(super::cause::is_only_the_piston)
    }

    /// Whether what is written down as mended is not done: bought, planned, looked at, or of no help.
    pub fn is_not_mended_yet(&self) -> bool {
        self.mended
            .as_deref()
            .is_some_and(|mended| super::cause::is_not_done(mended) || super::cause::says_nothing(mended))
    }

    /// Whether what is written down as the cause of a lean run is the jetting itself, or as what was mended only that it was jetted up.
    pub fn blames_the_jetting(&self) -> bool {
        self.cause.as_deref().is_some_and(super::cause::is_the_jetting)
            || self.mended.as_deref().is_some_and(super::cause::is_only_richer)
    }

    /// Whether its cause says that what its words asked of was not the engine.
    pub fn was_not_the_engine(&self) -> bool {
        self.cause.as_deref().is_some_and(super::cause::is_not_the_engine)
    }

    /// The outing as it was for one cylinder: what was seen there, else what is written of all. The cause of another one is not its own.
    #[must_use]
    pub fn for_cylinder(&self, name: &str) -> Self {
        let mut whole = self.seen_at(name);
        whole.mended.take_if(|_| self.all_left_open().iter().any(|open| open == name));
        whole
    }

    fn seen_at(&self, name: &str) -> Self {
        let mut whole = Self { cylinder: BTreeMap::new(), ..self.clone() };
        for text in [&mut whole.notes, &mut whole.feel] {
            text.take_if(|text| is_of_another(text, Some(name), &self.cylinder));
        }
        let Some(own) = self.cylinder.get(name) else {
            return whole;
        };
        if let Some(verdict) = &own.verdict {
            whole.verdict = Some(verdict.over(self.verdict.as_ref()));
        }
        whole.plug = own.plug.clone().or(whole.plug);
        whole.piston = own.piston.clone().or(whole.piston);
        whole.exhaust_gas = own.exhaust_gas.clone().or(whole.exhaust_gas);
        whole
    }

    /// The outing as it was for cylinders that one carburetor feeds: each throttle as the leanest of them ran there, and all that was read
    /// at any.
    #[must_use]
    pub fn for_cylinders(&self, name: &str, others: &[String]) -> Self {
        let mut whole = self.for_cylinder(name);
        for other in others {
            let own = self.for_cylinder(other);
            whole.verdict = match (whole.verdict, own.verdict) {
                (Some(one), Some(other)) => Some(one.leaner(&other)),
                (one, other) => one.or(other),
            };
            for (text, own) in [
                (&mut whole.plug, own.plug),
                (&mut whole.piston, own.piston),
                (&mut whole.feel, own.feel),
                (&mut whole.notes, own.notes),
            ] {
                *text = match (text.take(), own) {
                    (Some(one), Some(other)) if one != other => Some(format!("{one}\n{other}")),
                    (one, other) => one.or(other),
                };
            }
            let hotter = |one: &Temperature, other: &Temperature| one.si() < other.si();
            if let Some(read) = own.exhaust_gas
                && whole.exhaust_gas.as_ref().is_none_or(|known| hotter(known, &read))
            {
                whole.exhaust_gas = Some(read);
            }
        }
        whole
    }

    /// Whether its words may say by name at which cylinder metal stopped.
    pub fn may_name_one(&self) -> bool {
        [&self.notes, &self.feel].into_iter().flatten().any(|text| says_stopped(text))
    }

    /// A cylinder of the engine at which its words alone say by name that metal stopped has something of its own from now on: what they
    /// say is of it and of no other.
    pub fn hear_names(&mut self, engine: &[String]) {
        let texts = [&self.notes, &self.feel].into_iter().flatten();
        let named: Vec<String> = texts.flat_map(|text| stopped_at(text, engine)).cloned().collect();
        for name in named {
            self.cylinder.entry(name).or_default();
        }
    }

    /// A lean verdict that was said of all but one is given to the others by name, so that it is known which of `names` were lean.
    pub fn name_the_lean(&mut self, names: &[String]) {
        let Some(of_all) = self.verdict.as_mut() else { return };
        for at in Verdict::EACH {
            let Some(lean) = at(of_all).filter(|mixture| *mixture < Mixture::Right) else { continue };
            let mut own =
                |name: &String| self.cylinder.get_mut(name).and_then(|own| *at(own.verdict.as_mut()?));
            if !names.iter().any(|name| own(name).is_some()) {
                continue;
            }
            for name in names {
                let verdict = self.cylinder.entry(name.clone()).or_default().verdict.get_or_insert_default();
                at(verdict).get_or_insert(lean);
            }
            *at(of_all) = None;
        }
        self.verdict = self.verdict.take().filter(|verdict| !verdict.zones().is_empty());
    }

    /// The outing as it is written for all, and as it was for each cylinder that has something of its own.
    pub fn at_each_cylinder(&self) -> Vec<(Option<&str>, Self)> {
        let own = self.cylinder.keys().map(|name| (Some(name.as_str()), self.for_cylinder(name)));
        let mut whole = self.clone();
        for text in [&mut whole.notes, &mut whole.feel] {
            text.take_if(|text| is_of_another(text, None, &self.cylinder));
        }
        std::iter::once((None, whole)).chain(own).collect()
    }

    /// How the machine ran at full throttle: as its leanest cylinder where one was lean, else as its richest.
    pub fn at_full_throttle(&self) -> Option<Mixture> {
        self.at_throttle(|verdict| verdict.full)
    }

    /// The same at another throttle.
    pub fn at_throttle(&self, zone: fn(&Verdict) -> Option<Mixture>) -> Option<Mixture> {
        let at = |(_, outing): (Option<&str>, Self)| outing.verdict.as_ref().and_then(zone);
        let judged: Vec<Mixture> = self.at_each_cylinder().into_iter().filter_map(at).collect();
        let leanest = judged.iter().min().filter(|leanest| **leanest < Mixture::Right);
        leanest.or_else(|| judged.iter().max()).copied()
    }

    /// How lean it was judged anywhere, the leanest highest and full throttle before the rest: of two runs of which nobody knows which
    /// was the last the leaner one counts as it. One that says nothing of its mixture may hide anything and comes before what was right.
    pub fn leanness(&self) -> u8 {
        let worst = |zones: &[(&'static str, Mixture)]| zones.iter().map(|(_, mixture)| *mixture).min();
        let each = self.at_each_cylinder().into_iter();
        let of_one = each.map(|(_, outing)| {
            let zones = outing.verdict.as_ref().map(Verdict::zones).unwrap_or_default();
            let (full, below): (Vec<_>, Vec<_>) = zones.into_iter().partition(|(zone, _)| *zone == "full");
            match (worst(&full), worst(&below)) {
                (Some(Mixture::Lean), _) => 6,
                (_, Some(Mixture::Lean)) => 5,
                (Some(Mixture::SlightlyLean), _) => 4,
                (_, Some(Mixture::SlightlyLean)) => 3,
                (None, None) => 2,
                (Some(Mixture::Right), _) | (None, Some(Mixture::Right)) => 1,
                _ => 0,
            }
        });
        of_one.max().unwrap_or(0)
    }

    /// Whether something of it is doubted.
    pub fn doubts(&self, what: Doubted) -> bool {
        self.doubted.contains(&what)
    }
}

impl Verdict {
    /// Each zone, to be written.
    const EACH: [fn(&mut Self) -> &mut Option<Mixture>; 6] = [
        |verdict| &mut verdict.idle,
        |verdict| &mut verdict.eighth,
        |verdict| &mut verdict.quarter,
        |verdict| &mut verdict.half,
        |verdict| &mut verdict.three_quarters,
        |verdict| &mut verdict.full,
    ];

    /// This verdict, with the zones that it leaves out taken from another.
    #[must_use]
    pub fn over(&self, other: Option<&Self>) -> Self {
        let or = |own: Option<Mixture>, of: fn(&Self) -> Option<Mixture>| own.or_else(|| other.and_then(of));
        Self {
            idle: or(self.idle, |verdict| verdict.idle),
            eighth: or(self.eighth, |verdict| verdict.eighth),
            quarter: or(self.quarter, |verdict| verdict.quarter),
            half: or(self.half, |verdict| verdict.half),
            three_quarters: or(self.three_quarters, |verdict| verdict.three_quarters),
            full: or(self.full, |verdict| verdict.full),
        }
    }

    /// This verdict and another, each zone as the leaner of the two has it.
    fn leaner(&self, other: &Self) -> Self {
        let of = |one: Option<Mixture>, other: Option<Mixture>| one.into_iter().chain(other).min();
        Self {
            idle: of(self.idle, other.idle),
            eighth: of(self.eighth, other.eighth),
            quarter: of(self.quarter, other.quarter),
            half: of(self.half, other.half),
            three_quarters: of(self.three_quarters, other.three_quarters),
            full: of(self.full, other.full),
        }
    }

    /// What of this verdict is lean.
    #[must_use]
    pub fn only_lean(mut self) -> Self {
        for at in Self::EACH {
            at(&mut self).take_if(|mixture| *mixture >= Mixture::Right);
        }
        self
    }

    /// Zones that were judged, with their names.
    pub fn zones(&self) -> Vec<(&'static str, Mixture)> {
        let judged = [self.idle, self.eighth, self.quarter, self.half, self.three_quarters, self.full];
        ZONES.iter().zip(judged).filter_map(|((name, _, _), mixture)| Some((*name, mixture?))).collect()
    }
}

/// What of an outing may have been written down wrongly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Doubted {
    /// Its air.
    Air,
    /// Its running time.
    Hours,
    /// Which setup it ran: jobs were open, and nobody said whether they were done.
    Setup,
}

impl Doubted {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Air, Self::Hours, Self::Setup];

    /// As written in a document.
    pub fn word(self) -> &'static str {
        match self {
            Self::Air => "air",
            Self::Hours => "hours",
            Self::Setup => "setup",
        }
    }
}

/// One time on track, test ground or dyno.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Outing {
    /// When it was; without an offset by the time of the place it is read at, without a time of day at noon.
    pub date: When,
    /// Track, test or dyno.
    #[serde(default)]
    pub kind: OutingKind,
    /// Where it was.
    pub place: Option<String>,
    /// The session: practice 1, heat 2.
    pub session: Option<String>,
    /// Identity of the setup it ran; the newest one at that date where it is not said.
    pub setup: Option<String>,
    /// Running time.
    #[schemars(extend("x-range" = [0, 24]))]
    pub hours: Option<Hours>,
    /// How often the engine was started; once where it is not said.
    #[schemars(extend("x-range" = [0, 1000], "x-whole" = true))]
    pub starts: Option<Number>,
    /// The hour meter's reading at the end.
    #[schemars(extend("x-range" = [0, 100_000]))]
    pub meter: Option<Hours>,
    /// Highest coolant temperature read.
    #[schemars(extend("x-range" = [-20, 150]))]
    pub coolant: Option<Temperature>,
    /// Highest exhaust-gas temperature read.
    #[schemars(extend("x-range" = [0, 1100]))]
    pub exhaust_gas: Option<Temperature>,
    /// Highest engine speed reached.
    #[schemars(extend("x-range" = [500, 25000]))]
    pub peak: Option<EngineSpeed>,
    /// Which can or batch of fuel.
    pub fuel_batch: Option<String>,
    /// Plug reading.
    pub plug: Option<String>,
    /// Piston reading.
    pub piston: Option<String>,
    /// Best lap or run.
    pub lap: Option<String>,
    /// How it felt, in the rider's words.
    pub feel: Option<String>,
    /// Anything else.
    pub notes: Option<String>,
    /// What made it run lean, seize or ping, once that was found and was not the jetting: a leaking seal, a blocked jet.
    pub cause: Option<String>,
    /// What was done about the cause; it is typed as `fixed`, and keeps this name in files because old garages have it. With both written down what ran then is allowed again, leaner than that once it has run.
    pub mended: Option<String>,
    /// What of this outing is doubted, `air`, `hours` or `setup`: air and hours are left out of what is learned and counted until confirmed;
    /// of the setups that may have been on it a lean run is held to the richest.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub doubted: Vec<Doubted>,
    /// Name of the dyno curve's file beside this one: columns rpm and power or torque, as measured.
    pub dyno: Option<String>,
    /// The air it ran in.
    pub air: Option<AirEntry>,
    /// The mixture by throttle zone.
    pub verdict: Option<Verdict>,
    /// What was seen at one of several cylinders, under its name; what is written without a name is of all.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    #[schemars(extend("x-cylinders" = true))]
    pub cylinder: BTreeMap<String, OwnReading>,
}

/// What was seen at one of several cylinders.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OwnReading {
    /// Its mixture by throttle zone.
    pub verdict: Option<Verdict>,
    /// Its plug.
    pub plug: Option<String>,
    /// Its piston.
    pub piston: Option<String>,
    /// Its highest exhaust-gas temperature.
    #[schemars(extend("x-range" = [0, 1100]))]
    pub exhaust_gas: Option<Temperature>,
}
