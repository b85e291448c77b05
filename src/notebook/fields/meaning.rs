//! What a field of a setup or of an engine means beside its value: what is done for it at the bike, what a change of it can hurt,
//! what is not known after it, and what it is to an advice and to the record. Each field says all of it beside itself, as `x-means`
//! in its type; nothing else lists fields for it.

use serde::{Deserialize, Serialize};

use schemars::JsonSchema;

/// Everything that a field means.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Meaning {
    /// What the hands do so that the bike has it.
    pub hands: Hands,
    /// What a change of it can hurt.
    pub hurts: Hurts,
    /// Whether what a change of it does to the fuel is known.
    pub fuel: Fuelling,
    /// What a run with another one is worth to the record.
    pub record: Recorded,
    /// What an advice does with it.
    pub advice: Advised,
    /// Whether another one makes another combination.
    pub makes: Makes,
}

/// A field's meaning, every question answered: `x-means` in its type.
pub(crate) fn means(
    hands: Hands,
    hurts: Hurts,
    fuel: Fuelling,
    record: Recorded,
    advice: Advised,
    makes: Makes,
) -> Meaning {
    Meaning { hands, hurts, fuel, record, advice, makes }
}

/// What the hands do at the bike so that it has what is written down.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hands {
    /// What is done.
    pub deed: Deed,
    /// When it is its turn: the lowest goes first, those alike in reading order.
    pub turn: u16,
    /// The field with the name of the part that it comes with: where that is fitted too, nothing is to be done for this one.
    pub comes_with: Option<String>,
}

/// What is done for a field.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Deed {
    /// Turn, swap or set it: "main 178 → 172". Where the name ends with `*` that is the user's own name.
    Set(String),
    /// Fit a thing by its name: "fit head insert B2".
    Fit(String),
    /// Screw it in by its name, and out where none is written: what it makes narrower is so again without it.
    ScrewIn(String),
    /// Load a map: "load the ignition map: 2.0 degrees less from 9,000 to 10,500 rpm".
    Load(String),
    /// Nothing where this jet changed too: it says how its number counts.
    NumberedBy(String),
    /// Nothing of its own: it says how something else counts, comes with it, was measured, or is cut in metal.
    Nothing,
}

/// The turn of what has none of its own.
pub(crate) const LAST: u16 = 1000;

/// Turn, swap or set it, by the name a mechanic uses.
pub(crate) fn set(turn: u16, name: &str) -> Hands {
    Hands { deed: Deed::Set(name.to_owned()), turn, comes_with: None }
}

/// Set it, unless it comes with a part that is fitted.
pub(crate) fn set_or_comes_with(name: &str, part: &str) -> Hands {
    Hands { deed: Deed::Set(name.to_owned()), turn: LAST, comes_with: Some(part.to_owned()) }
}

/// Fit it by its name.
pub(crate) fn fit(turn: u16, name: &str) -> Hands {
    Hands { deed: Deed::Fit(name.to_owned()), turn, comes_with: None }
}

/// Screw it in by its name, or out.
pub(crate) fn screw_in(turn: u16, name: &str) -> Hands {
    Hands { deed: Deed::ScrewIn(name.to_owned()), turn, comes_with: None }
}

/// Load a map.
pub(crate) fn load(turn: u16, name: &str) -> Hands {
    Hands { deed: Deed::Load(name.to_owned()), turn, comes_with: None }
}

/// How the number of a jet counts; `turn` is the jet's.
pub(crate) fn numbers(turn: u16, jet: &str) -> Hands {
    Hands { deed: Deed::NumberedBy(jet.to_owned()), turn, comes_with: None }
}

/// Nothing is done for it.
pub(crate) fn nothing() -> Hands {
    Hands { deed: Deed::Nothing, turn: LAST + 1, comes_with: None }
}

/// The engine itself: put in by its own line, at this turn.
pub(crate) fn put_in(turn: u16) -> Hands {
    Hands { turn, ..nothing() }
}

/// What a change of a field can hurt (common practice, no source). In the order in which harms of one kind are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Hurts {
    /// Less fuel.
    Leaner {
        /// What a size of it is.
        size: Size,
        /// Which way is leaner.
        when: When,
        /// The throttles that it reaches.
        at: Reach,
    },
    /// The fuel in the tank may want more of itself, so that the jets are leaner everywhere.
    Hungrier,
    /// The same, and more petrol to the oil oils the engine less.
    Oil,
    /// More is an earlier spark.
    Earlier,
    /// Another one may be an earlier spark: it says how the map counts.
    MayBeEarlier,
    /// Less brings the head nearer, together with the other gasket.
    Gasket,
    /// Less brings the piston nearer to the head, where the gaskets stay.
    Deck,
    /// Less is a tighter squish, as measured.
    Squish,
    /// Less is a higher compression, as measured.
    Chamber,
    /// Less is a shorter stinger.
    Shorter,
    /// Less is a narrower stinger.
    Narrower,
    /// Another one in it may be a narrower stinger; out of it it is not.
    MayBeNarrower,
    /// Another one may bring the engine nearer to pinging or seizing, and its name does not say so.
    MayBeWorse,
    /// Nothing that can be told from its number.
    Harmless,
}

/// What counts as one size leaner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Size {
    /// The next smaller jet in the box.
    OfMain,
    /// The next smaller jet in the box.
    OfPilot,
    /// The next smaller jet in the box.
    OfPower,
    /// A groove of the clip.
    Groove,
    /// Sizes cannot be counted.
    Uncounted,
    /// Engine speeds at which a power jet feeds: all of its fuel, where it is out at many of them.
    Span,
    /// Two percent of fuel.
    Percent,
    /// Two percent in the cell that loses most.
    Cells,
    /// Two percent of itself: the fuel goes as it does.
    Share,
    /// Two percent of its square root: what flows through an opening goes as the root of the pressure (Bernoulli).
    RootOfShare,
}

impl Size {
    /// The circuit of the jet that it counts.
    pub fn circuit(self) -> Option<Circuit> {
        match self {
            Self::OfMain => Some(Circuit::Main),
            Self::OfPilot => Some(Circuit::Pilot),
            Self::OfPower => Some(Circuit::Power),
            Self::Groove
            | Self::Uncounted
            | Self::Span
            | Self::Percent
            | Self::Cells
            | Self::Share
            | Self::RootOfShare => None,
        }
    }
}

/// Which way a number goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum When {
    /// It gets less.
    Less,
    /// It gets more.
    More,
}

/// It is leaner when it gets less or more.
pub(crate) fn leaner(when: When, at: Reach, size: Size) -> Hurts {
    Hurts::Leaner { size, when, at }
}

/// The throttles that a part of the carburetor feeds, the widest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Reach {
    /// Full throttle alone.
    Full,
    /// What the main jet feeds.
    Main,
    /// What the needle feeds.
    Needle,
    /// What pilot jet and screw feed.
    Pilot,
    /// Every throttle.
    Everywhere,
}

impl Reach {
    /// The zones, as in [`crate::notebook::ZONES`].
    pub fn zones(self) -> &'static [&'static str] {
        match self {
            Self::Full => &["full"],
            Self::Main => &["three_quarters", "full"],
            Self::Needle => &["quarter", "half", "three_quarters"],
            Self::Pilot => &["idle", "eighth", "quarter"],
            Self::Everywhere => &["idle", "eighth", "quarter", "half", "three_quarters", "full"],
        }
    }
}

/// Whether what a change of a field does to the fuel is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Fuelling {
    /// No fuel hangs on it, or it is set against the runs as it is.
    Known,
    /// Fuel hangs on it: where it is written down anew or taken out, what that does is not known.
    HalfKnown(Reach),
    /// The same, but a first reading was most likely the same before it was written down.
    MeasuredLater(Reach),
    /// It changes the fuel by what cannot be reckoned.
    NotReckoned(Reach),
}

/// What a run with another one is worth to the record of the bike as it stands: the kind of part that it then ran with, in the order
/// in which they are told, or nothing that counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Recorded {
    /// It ran in another engine.
    OtherEngine,
    /// It ran with another inside of the engine.
    OtherInside,
    /// It ran with another ignition.
    OtherIgnition,
    /// It ran with another pipe.
    OtherPipe,
    /// It ran with another carburetor.
    OtherCarburetor,
    /// As much as with this one: the calculation follows what it does to the fuel.
    Followed,
    /// As much as with this one: no mixture depends on it.
    Alike,
}

/// What an advice does with a field, and what another one of it does to an advice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Advised {
    /// An advice sets it.
    Sets,
    /// It is fitted again as the setup had it that an advice stands on.
    FitsBack,
    /// An advice is for one of it: with another one it is for another bike.
    StandsOn,
    /// It is no matter of an advice.
    Spares,
}

/// Whether another one makes another combination to a lean run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Makes {
    /// It does not.
    Same,
    /// It names or measures this part: another one is another part.
    Names(PartOf),
    /// It tells this part where nothing names it.
    Shapes(PartOf),
    /// It does not, but what the main jet's number stands for hangs on it.
    Scales,
}

/// The parts that make a combination, in the order in which they are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum PartOf {
    /// The engine.
    Engine,
    /// The pipe.
    Pipe,
    /// The ignition box.
    IgnitionBox,
    /// The carburetor.
    Carburetor,
    /// The throttle body.
    ThrottleBody,
    /// The fuel.
    Fuel,
}

impl PartOf {
    /// In words.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Engine => "engine",
            Self::Pipe => "pipe",
            Self::IgnitionBox => "ignition box",
            Self::Carburetor => "carburetor",
            Self::ThrottleBody => "throttle body",
            Self::Fuel => "fuel",
        }
    }
}

impl Makes {
    /// Whether the main jet's number stands for the same fuel only where this is the same.
    pub fn scales_the_main_jet(self) -> bool {
        matches!(self, Self::Scales | Self::Names(PartOf::Carburetor))
    }
}

/// A circuit of the carburetor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Circuit {
    /// Main jet.
    Main,
    /// Pilot jet.
    Pilot,
    /// Power jet.
    Power,
}

#[cfg(test)]
mod tests {
    use std::collections::{BTreeMap, BTreeSet};

    use super::{Advised, Deed, Fuelling, Hurts, LAST, Makes, Recorded};
    use crate::notebook::fields::node::Leaf;
    use crate::notebook::{Combination, DocumentKind};

    fn leaves() -> Vec<(String, &'static Leaf)> {
        [DocumentKind::Setup, DocumentKind::Engine]
            .into_iter()
            .flat_map(|kind| kind.catalogue().leaves())
            .collect()
    }

    #[test]
    fn every_field_of_a_setup_and_its_engine_says_what_it_means() {
        let silent: Vec<String> =
            leaves().into_iter().filter(|(_, leaf)| leaf.meaning.is_none()).map(|(field, _)| field).collect();
        assert!(silent.is_empty(), "no x-means, or one that cannot be read: {silent:?}");
        // All but whose the engine is: that is no part of a setup.
        assert!(leaves().len() > 100 && Combination::meanings().len() + 1 == leaves().len());
        assert!(Combination::meaning("owner").is_none());
        // A name of the user's own stands in between, or at the end.
        for field in ["pipe.sections.header.inlet", "ports.windows.boost.top", "gearing.ratios.first"] {
            assert!(Combination::meaning(field).is_some(), "{field}");
        }
        assert!(Combination::meaning("extra.spark_cap").is_none());
    }

    #[test]
    fn no_other_document_has_a_meaning() {
        for kind in DocumentKind::ALL {
            let told = kind.catalogue().leaves().into_iter().any(|(_, leaf)| leaf.meaning.is_some());
            assert_eq!(told, matches!(kind, DocumentKind::Setup | DocumentKind::Engine), "{}", kind.name());
        }
    }

    #[test]
    fn what_the_hands_do_fits_together() {
        let known: BTreeSet<&str> = Combination::meanings().iter().map(|(field, _)| field.as_str()).collect();
        let mut turns: BTreeMap<u16, String> = BTreeMap::new();
        for (field, leaf) in leaves() {
            let hands = &leaf.meaning.as_ref().unwrap().hands;
            assert!(hands.comes_with.as_deref().is_none_or(|part| known.contains(part)), "{field}");
            if let Deed::NumberedBy(jet) = &hands.deed {
                let its = Combination::meaning(jet).unwrap_or_else(|| panic!("{field} numbers {jet}"));
                assert_eq!(hands.turn, its.hands.turn, "{field}");
                assert!(matches!(its.hands.deed, Deed::Set(_)), "{field}");
            } else if hands.turn < LAST {
                let other = turns.insert(hands.turn, field.clone());
                assert!(other.is_none(), "{field} and {other:?} have one turn");
            }
            // What is cut in metal is no job at the bike.
            assert!(leaf.metal.is_none() || hands.deed == Deed::Nothing, "{field}");
        }
    }

    #[test]
    fn what_a_field_means_does_not_contradict_itself() {
        let mut named = Vec::new();
        for (field, meaning) in Combination::meanings() {
            let feeds = matches!(meaning.hurts, Hurts::Leaner { .. }) || meaning.fuel != Fuelling::Known;
            let matters = !matches!(meaning.record, Recorded::Alike) && meaning.advice != Advised::Spares;
            assert!(!feeds || matters, "{field} changes the fuel, and nobody asks for it");
            assert_eq!(meaning.record == Recorded::Alike, meaning.advice == Advised::Spares, "{field}");
            if let Makes::Names(part) = meaning.makes {
                named.push(part);
            }
        }
        let parts: BTreeSet<_> = named.iter().copied().collect();
        assert_eq!((named.len(), parts.len()), (6, 6), "each part is named by one field: {named:?}");
        // A part that can be told by its shape has a name.
        let shaped = |makes| if let Makes::Shapes(part) = makes { Some(part) } else { None };
        for part in Combination::meanings().iter().filter_map(|(_, meaning)| shaped(meaning.makes)) {
            assert!(parts.contains(&part), "{part:?}");
        }
    }
}
