//! A caution needs no list of its own: what stands beside a field is enough.

use std::fmt::Write as _;

use schemars::JsonSchema;

use super::{Season, ran, read};
use crate::advice::held::harms::Trade;
use crate::advice::held::harms::harm::Changed;
use crate::advice::held::refused::case::Case;
use crate::advice::held::{HurtKind, Judgement, Proposal, Refusal, Step};
use crate::notebook::fields::catalogue::catalogue_of;
use crate::notebook::fields::meaning::{
    Advised, Deed, Fuelling, Hurts, Makes, Meaning, Reach, Recorded, Size, When, leaner, means, set,
};
use crate::notebook::fields::node::{Leaf, Node};
use crate::notebook::{Change, Combination, Difference, SetupFiles, Value};
use crate::quantity::{Dimension, Number, Quantity};

/// A run that seized, and was lean at every throttle.
fn seized() -> String {
    let lean = Reach::Everywhere.zones().iter().map(|zone| format!("{zone} = \"lean\"\n"));
    format!("notes = \"seized\"\n{}", ran(&lean.collect::<String>(), 20.0))
}

/// A setup with a field at a value, where there is one, and with what that field needs beside it.
fn with(field: &str, value: Option<f64>) -> Combination {
    let (section, name) = field.split_once('.').unwrap();
    let main =
        if section == "jetting" && name != "main" { "main = 178\nmain_numbered_by = \"bore\"\n" } else { "" };
    let mut text = format!("[{section}]\n{main}");
    let numbered = Combination::meanings()
        .iter()
        .filter(|(_, meaning)| matches!(&meaning.hands.deed, Deed::NumberedBy(jet) if jet == field));
    for (by, _) in numbered {
        writeln!(text, "{} = \"bore\"", by.rsplit('.').next().unwrap()).unwrap();
    }
    if let Some(value) = value {
        writeln!(text, "{name} = {value}").unwrap();
    }
    let whole = read(&text);
    assert!(whole.setup.is_some(), "{text}{:?}", whole.findings);
    whole
}

fn judged(before: &Combination, after: &Combination) -> Judgement {
    let season = Season::new().run_with(before.clone(), &seized());
    let step = Step::between(before, after, &season.tables());
    case(step, &season, before, after)
}

fn case(step: Step, season: &Season, before: &Combination, after: &Combination) -> Judgement {
    let proposal = Proposal {
        bike: "moth",
        before: Some(before),
        after,
        air: None,
        back: false,
        advised: false,
        kept: None,
        moves_nothing: false,
    };
    let holds = season.holds_of(after);
    assert!(!holds.is_empty());
    let (since_run, held_before) = (None, Vec::new());
    Case {
        step,
        since_run,
        held_before,
        engine_was_elsewhere: false,
        lean_beside: None,
        opened_beside: None,
        besides: Vec::new(),
        holds,
        proposal: &proposal,
        before,
        tables: season.tables(),
        trade: Trade::default(),
    }
    .judgement()
}

/// Two values of a field, the second less.
fn two_values(leaf: &Leaf) -> (f64, f64) {
    let (low, high) = leaf.range.unwrap();
    let more = (low.max(0.0) + 0.4 * (high - low.max(0.0))).round();
    (more, if leaf.whole { more - 1.0 } else { 0.9 * more })
}

#[test]
fn every_field_that_says_it_gets_leaner_is_refused_under_a_hold() {
    let mut seen = 0;
    for (field, meaning) in Combination::meanings() {
        let Hurts::Leaner { size, when, .. } = meaning.hurts else { continue };
        if size == Size::Cells {
            continue;
        }
        seen += 1;
        let (more, less) = two_values(Combination::leaf(field).unwrap());
        let (rich, lean) = if when == When::Less { (more, less) } else { (less, more) };
        let (rich, lean) = (with(field, Some(rich)), with(field, Some(lean)));
        let leaner = judged(&rich, &lean);
        assert!(
            leaner.refused.iter().any(|one| one.by_a_run.is_some() && one.field == *field),
            "{field}: {leaner:?}"
        );
        let richer = judged(&lean, &rich);
        let only_more = richer.told.iter().all(|told| told.sentence().starts_with("Still too little"));
        assert!(richer.refused.is_empty() && only_more, "{field}: {richer:?}");
    }
    assert!(seen >= 9, "{seen}");
}

#[test]
fn every_field_whose_effect_is_not_known_is_refused_under_a_hold() {
    let mut seen = 0;
    for (field, meaning) in Combination::meanings() {
        let leaf = Combination::leaf(field).unwrap();
        // Words have no values to be had from their range.
        if leaf.range.is_none() || meaning.fuel == Fuelling::Known {
            continue;
        }
        seen += 1;
        let (more, less) = match meaning.makes {
            // Far off it would be another part.
            Makes::Names(_) => (two_values(leaf).0, 0.98 * two_values(leaf).0),
            _ => two_values(leaf),
        };
        let is_refused = |before: Option<f64>, after: Option<f64>| {
            let judged = judged(&with(field, before), &with(field, after));
            judged.refused.iter().any(|one| one.by_a_run.is_some())
        };
        match meaning.fuel {
            Fuelling::NotReckoned(_) => {
                assert!(is_refused(Some(less), Some(more)) && is_refused(Some(more), Some(less)), "{field}");
            }
            Fuelling::MeasuredLater(_) => assert!(is_refused(Some(more), None), "{field}"),
            Fuelling::HalfKnown(_) | Fuelling::Known => {
                // A trim that is not written down is none.
                let is_none = matches!(meaning.hurts, Hurts::Leaner { size: Size::Percent, .. });
                assert!(is_refused(Some(more), None), "{field}");
                assert!(is_none || is_refused(None, Some(more)), "{field}");
            }
        }
    }
    assert!(seen >= 15, "{seen}");
}

/// What a carburetor might have besides: no code but this struct knows the field.
#[derive(JsonSchema)]
#[allow(dead_code, reason = "only its schema is read")]
struct Another {
    /// A jet that bypasses the slide.
    #[schemars(extend("x-range" = [1, 90]))]
    #[schemars(extend("x-means" = means(set(95, "bypass jet"), leaner(When::Less, Reach::Main, Size::Uncounted), Fuelling::HalfKnown(Reach::Main), Recorded::OtherCarburetor, Advised::FitsBack, Makes::Same)))]
    bypass: Option<Number>,
    /// Which the circuits follow.
    #[schemars(extend("x-means" = means(set(96, "bleed"), leaner(When::More, Reach::Main, Size::Uncounted), Fuelling::HalfKnown(Reach::Main), Recorded::Followed, Advised::FitsBack, Makes::Same)))]
    bleed: Option<Number>,
}

/// The only meaning of a field of [`Another`].
fn meaning_of(field: &str) -> Meaning {
    let Node::Table(table) = catalogue_of::<Another>() else { panic!("no table") };
    match table.field(field) {
        Some(Node::Leaf(leaf)) => leaf.meaning.clone().unwrap(),
        other => panic!("{other:?}"),
    }
}

fn change(field: &str, from: &str, to: &str) -> Change {
    let quantity = |text: &str| Quantity::parse(text, &[Dimension::Number], "").unwrap();
    let value = quantity(to).value() - quantity(from).value();
    Change {
        field: format!("jetting.{field}"),
        old: Some(Value::Quantity(quantity(from))),
        new: Some(Value::Quantity(quantity(to))),
        difference: Some(Difference { value, unit: "", percent: None, decimals: 0 }),
        map: None,
        prose: None,
    }
}

#[test]
fn a_new_field_is_held_by_what_its_type_says_of_it() {
    let bike = read(
        "[jetting]\nmain = 178\nmain_numbered_by = \"bore\"\npilot = 50\npilot_numbered_by = \"bore\"\nneedle = \"N1\"\nclip = 3\n",
    );
    let season = Season::new().run_with(bike.clone(), &seized());
    let tables = season.tables();
    let step = |field: &str, from: &str, to: &str| {
        let (change, meaning) = (change(field, from, to), meaning_of(field));
        let changed = [Changed { change: &change, meaning: &meaning }];
        Step::of_changes(&changed, (&bike, &bike), false, &tables)
    };
    let less = step("bypass", "40", "35");
    assert_eq!(less.harms[0].words, "bypass 40 -> 35, leaner");
    assert_eq!(less.kinds(), [HurtKind::Fuel]);
    // The circuits know nothing of it: they do not say that nothing is lost.
    assert_eq!(less.fuel_at("full"), None);
    assert!(less.is_leaner_at("full") && !less.is_leaner_at("idle"));
    let refused = case(less, &season, &bike, &bike).refused;
    assert_eq!((refused[0].field.as_str(), refused[0].by_a_run.is_some()), ("jetting.bypass", true));
    assert!(step("bypass", "35", "40").is_harmless());
    // Of what they follow they have the last word.
    assert!(step("bleed", "35", "40").is_harmless());
}

#[test]
fn a_fuel_map_in_a_file_is_held_as_one_in_the_setup() {
    let whole = |cells: &str| {
        let setup = "[injection]\ntrim = \"0 %\"\nfuel_map_unit = \"percent\"\nfuel = \"maps/fuel.csv\"\n";
        let map = format!("throttle\\rpm,6000,9000\n100,{cells}\n");
        let files = SetupFiles {
            bike: "moth".into(),
            setup: Some(setup.as_bytes().to_vec()),
            maps: [("maps/fuel.csv".to_owned(), map.into_bytes())].into(),
            ..SetupFiles::default()
        };
        let whole = Combination::read(&files, false);
        assert!(whole.fields.map("injection.fuel").is_some(), "{:?}", whole.findings);
        whole
    };
    let leaner = judged(&whole("5,0"), &whole("4,0"));
    let held = |one: &Refusal| one.by_a_run.is_some() && one.field == "injection.fuel";
    assert!(leaner.refused.iter().any(held), "{leaner:?}");
    assert!(judged(&whole("5,0"), &whole("6,0")).refused.is_empty());
}
