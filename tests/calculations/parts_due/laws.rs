//! Laws of hours and urgency, on garages made up at random. The outings lie within the 365 days that events are looked for in:
//! where a bike has none there, its last one stands for the next, and taking that one away can bring up a longer one.

use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use reedbook::advice::parts::{DueStanding, EngineRun, State, count};
use reedbook::notebook::{Part, When};
use reedbook::store::PartRecord;

use super::parts::{Shop, at, part, record};

const NOW: &str = "2026-12-01";
const PLACES: [Option<&str>; 3] = [None, Some("Tarn Hollow"), Some("Fen Ring")];
const ENGINES: [&str; 2] = ["cicada", "granite"];

/// The moment so many hours into the year.
fn moment(hour: u32) -> When {
    When::from_unix(at("2026-01-01 00:00").unix() + i64::from(hour) * 3600, 0).unwrap()
}

prop_compose! {
    fn any_run()(hour in 0u32..7900, engine in 0usize..2, place in 0usize..3, hours in option::weighted(0.85, 0u32..40), starts in 0u32..6) -> EngineRun {
        EngineRun {
            engine: ENGINES[engine].to_owned(),
            bike: if engine == 0 { "moth" } else { "wasp" }.to_owned(),
            outing: String::new(),
            date: moment(hour),
            place: PLACES[place].map(str::to_owned),
            hours_h: hours.map(|tenths| f64::from(tenths) / 10.0),
            starts: f64::from(starts),
        }
    }
}

fn any_runs() -> impl Strategy<Value = Vec<EngineRun>> {
    vec(any_run(), 0..14).prop_map(sorted)
}

fn sorted(mut runs: Vec<EngineRun>) -> Vec<EngineRun> {
    runs.sort_by_key(|run| run.date);
    runs
}

/// What the tuner wrote of a part: its fields, and what was done to it at which hours of the year.
fn any_part() -> impl Strategy<Value = Part> {
    let fields = (
        option::of(0u32..150),
        option::of(0u32..60),
        option::of(1u32..150),
        option::of(1u32..60),
        option::of(1u32..80),
    );
    let kind = 0usize..3;
    (kind, fields, vec((0u32..7900, 0usize..5, 0u32..150), 0..6)).prop_map(|(kind, fields, deeds)| {
        let (past, starts, after, after_starts, look) = fields;
        let mut text = format!("kind = \"{}\"\n", ["piston", "seal", "clutch"][kind]);
        let mut say = |name: &str, value: Option<f64>| {
            if let Some(value) = value {
                text.push_str(&format!("{name} = {value}\n"));
            }
        };
        let tenths = |value: Option<u32>| value.map(|tenths| f64::from(tenths) / 10.0);
        say("past_hours", tenths(past));
        say("past_starts", starts.map(f64::from));
        say("change_after", tenths(after));
        say("change_after_starts", after_starts.map(f64::from));
        say("inspect_after", tenths(look));
        part(&text, &events(deeds).iter().map(String::as_str).collect::<Vec<_>>())
    })
}

/// A history that can have happened: in and out by turns, looked at, run elsewhere, made new, and counted by the tuner.
fn events(mut deeds: Vec<(u32, usize, u32)>) -> Vec<String> {
    deeds.sort_unstable();
    let mut inside = false;
    let mut lines = Vec::new();
    for (hour, what, tenths) in deeds {
        let hours = f64::from(tenths) / 10.0;
        let did = match what {
            0 | 1 if inside => "removed".to_owned(),
            0 => "fitted cicada".to_owned(),
            1 => "fitted granite".to_owned(),
            2 => "inspected".to_owned(),
            3 => format!("ran ran={hours}h"),
            _ => "renewed".to_owned(),
        };
        inside = did.starts_with("fitted") || (inside && did != "removed");
        lines.push(format!("{}  {did}", moment(hour)));
    }
    lines
}

const LIMITS: &str = "[parts.piston]\nchange_after = \"10 h\"\ninspect_after = \"5 h\"\n[parts.seal]\nchange_after = \"20 h\"\nchange_after_days = 100\n";

fn shop(runs: Vec<EngineRun>) -> Shop {
    let mut shop = Shop::new(NOW, LIMITS, runs);
    shop.holders.insert("granite".into(), ("wasp".into(), 1));
    shop
}

fn stands(runs: &[EngineRun], part: &Part) -> DueStanding {
    shop(runs.to_vec()).ledger().standing(&record("p", part.clone()))
}

fn no_more_urgent(one: &DueStanding, than: &DueStanding) -> bool {
    let (a, b) = (one.urgency(), than.urgency());
    (a.0, a.1) < (b.0, b.1) || ((a.0, a.1) == (b.0, b.1) && a.2 <= b.2 + 1e-9)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn hours_only_grow_with_outings(runs in any_runs(), more in any_run(), part in any_part()) {
        let before = count(&part, &runs, at(NOW));
        let after = count(&part, &sorted([runs, vec![more]].concat()), at(NOW));
        prop_assert!(after.hours_h >= before.hours_h - 1e-9);
        prop_assert!(after.starts >= before.starts && after.outings >= before.outings);
        prop_assert!(after.since_look_h >= before.since_look_h - 1e-9);
        prop_assert!(after.hours_at_least >= before.hours_at_least);
    }

    #[test]
    fn an_outing_taken_away_makes_no_part_more_urgent(runs in any_runs(), at in any::<prop::sample::Index>(), part in any_part()) {
        prop_assume!(!runs.is_empty());
        let mut fewer = runs.clone();
        fewer.remove(at.index(runs.len()));
        let (all, fewer) = (stands(&runs, &part), stands(&fewer, &part));
        prop_assert!(no_more_urgent(&fewer, &all), "{fewer:#?}\n{all:#?}");
    }

    #[test]
    fn what_is_not_known_is_never_ok_law(runs in any_runs(), part in any_part()) {
        let standing = stands(&runs, &part);
        for (state, limit) in &standing.limits {
            prop_assert!(!limit.at_least || *state >= State::NotKnown, "{limit:?}");
        }
        let by_hours = standing.limits.iter().any(|(_, limit)| limit.by == reedbook::advice::parts::By::Hours);
        prop_assert!(!(standing.count.hours_at_least && by_hours) || standing.state() >= State::NotKnown);
    }

    #[test]
    fn another_engine_is_not_this_parts_business(runs in any_runs(), part in any_part(), date in 0u32..7900, hours in 0u32..90) {
        let other = EngineRun {
            engine: "finch".into(), bike: "plover".into(), outing: String::new(), date: moment(date),
            place: None, hours_h: Some(f64::from(hours)), starts: 9.0,
        };
        let before = stands(&runs, &part);
        let after = stands(&sorted([runs, vec![other]].concat()), &part);
        prop_assert_eq!(before.count, after.count);
        prop_assert_eq!(before.urgency(), after.urgency());
    }

    #[test]
    fn an_engine_that_moves_to_another_bike_takes_its_parts_along(runs in any_runs(), part in any_part(), from in 0u32..7900) {
        let moved: Vec<EngineRun> = runs.iter().cloned().map(|mut run| {
            if run.engine == "cicada" && run.date >= moment(from) {
                run.bike = "plover".into();
            }
            run
        }).collect();
        prop_assert_eq!(count(&part, &runs, at(NOW)), count(&part, &moved, at(NOW)));
        let mut after = shop(moved);
        after.holders.insert("cicada".into(), ("plover".into(), 1));
        let due = after.ledger().due(&[record("p", part)], None);
        for one in due.parts.iter().filter(|one| one.engine.as_deref() == Some("cicada")) {
            prop_assert_eq!(one.bike.as_deref(), Some("plover"));
        }
    }

    #[test]
    fn the_order_of_files_changes_nothing(runs in any_runs(), parts in vec(any_part(), 1..6), turn in any::<prop::sample::Index>()) {
        let records: Vec<PartRecord> =
            parts.into_iter().enumerate().map(|(index, part)| record(&format!("p{index}"), part)).collect();
        let mut turned = records.clone();
        turned.rotate_left(turn.index(records.len()));
        turned.reverse();
        let mut other_runs = runs.clone();
        other_runs.reverse();
        let told = |runs: Vec<EngineRun>, records: &[PartRecord]| {
            let shop = shop(sorted(runs));
            let due = shop.ledger().due(records, None);
            due.parts.iter().map(|part| (part.part.clone(), part.state(), part.count.outings)).collect::<Vec<_>>()
        };
        prop_assert_eq!(told(runs, &records), told(other_runs, &turned));
    }

    #[test]
    fn every_figure_is_finite(runs in any_runs(), part in any_part(), within in option::of(0.0f64..50.0)) {
        let mut shop = shop(runs);
        shop.within_h = within;
        let standing = shop.ledger().standing(&record("p", part));
        for figure in [standing.count.hours_h, standing.count.starts, standing.count.since_look_h] {
            prop_assert!(figure.is_finite() && figure >= 0.0);
        }
        for (_, limit) in &standing.limits {
            prop_assert!(limit.left().is_finite() && limit.share().is_finite() && limit.share() >= 0.0);
        }
        prop_assert!(standing.limits.windows(2).all(|pair| pair[0].0 >= pair[1].0));
    }
}
