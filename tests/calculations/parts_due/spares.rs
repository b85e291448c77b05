//! Which parts of the shelf are spares for an engine: those that are known to fit and to be sound, and none else.

use std::collections::BTreeMap;

use crate::parts::{Shop, at, part, record, run};
use reedbook::advice::parts::{Ask, Fits, Fitting, Want, to_take};
use reedbook::notebook::Condition;

const RING: &str = "kind = \"ring\"\npast_hours = \"0 h\"\n";
const TEN: &str = "[parts.ring]\nchange_after = \"10 h\"\n";

/// What cicada, of a bore of 54 mm, wants with these on the shelf: its ring is over its hours.
fn want(shelf: &[(&str, &str, &[&str])], bore_mm: Option<f64>) -> Want {
    let shop = Shop::new("2026-06-01", TEN, vec![run("cicada", "2026-05-01", 11.0)]);
    let mut parts = vec![record("old", part(RING, &["2026-01-01  fitted cicada"]))];
    parts.extend(
        shelf.iter().map(|(name, fields, events)| record(name, part(&format!("{RING}{fields}"), events))),
    );
    let bores =
        bore_mm.map(|bore| ("cicada".to_owned(), bore * 1e-3)).into_iter().collect::<BTreeMap<_, _>>();
    let ledger = shop.ledger();
    to_take(&ledger.due(&parts, None), &ledger.shelf(&parts), &bores)[0].wants[0].clone()
}

/// Two pistons of one engine are two that are wanted; of another bore they are another want.
#[test]
fn each_cylinder_wants_its_own() {
    const PISTON: &str = "kind = \"piston\"\npast_hours = \"0 h\"\nfor_bore = \"54 mm\"\n";
    let shop = Shop::new(
        "2026-06-01",
        "[parts.piston]\nchange_after = \"10 h\"\n",
        vec![run("cicada", "2026-05-01", 11.0)],
    );
    let sits = |name: &str, cylinder: &str| {
        let mut known = part(PISTON, &["2026-01-01  fitted cicada"]);
        known.events.values_mut().for_each(|event| event.cylinder = Some(cylinder.to_owned()));
        record(name, known)
    };
    let shelf = record("new", part(PISTON, &[]));
    let parts = vec![sits("p1", "left"), sits("p2", "right"), shelf];
    let wants = |bores: &BTreeMap<String, f64>| {
        let ledger = shop.ledger();
        to_take(&ledger.due(&parts, None), &ledger.shelf(&parts), bores)[0].wants.clone()
    };
    let bores = BTreeMap::from([("cicada".to_owned(), 0.054)]);
    let both = wants(&bores);
    assert_eq!(both.len(), 1);
    assert_eq!(
        both[0].parts.iter().map(|part| part.cylinder.as_deref()).collect::<Vec<_>>(),
        [Some("left"), Some("right")]
    );
    assert_eq!((both[0].parts.len(), both[0].good_spares()), (2, 1), "one has to be bought");
    // The right was bored out: the spare is none for it.
    let mut bored = bores.clone();
    bored.insert("cicada at right".to_owned(), 0.0545);
    let each = wants(&bored);
    assert_eq!(
        each.iter().map(|want| (want.parts[0].part.as_str(), want.good_spares())).collect::<Vec<_>>(),
        [("p1", 1), ("p2", 0)]
    );
}

fn offered(want: &Want) -> Vec<&str> {
    want.spares.iter().map(|spare| spare.part.as_str()).collect()
}

fn asked(want: &Want) -> Vec<(&str, &Ask)> {
    want.asked.iter().map(|(spare, ask)| (spare.part.as_str(), ask)).collect()
}

#[test]
fn only_what_is_known_to_fit_is_offered() {
    let was_in = |engine: &str| [format!("2025-01-01  fitted {engine}"), "2025-02-01  removed".to_owned()];
    let (in_it, elsewhere) = (was_in("cicada"), was_in("finch"));
    let (in_it, elsewhere): (Vec<&str>, Vec<&str>) =
        (in_it.iter().map(String::as_str).collect(), elsewhere.iter().map(String::as_str).collect());
    let shelf: [(&str, &str, &[&str]); 8] = [
        ("a-says-so", "fits = [\"cricket\", \"cicada\"]\n", &[]),
        ("b-was-in-it", "", &in_it),
        ("c-of-its-bore", "for_bore = \"54 mm\"\n", &[]),
        ("d-says-others", "fits = [\"finch\"]\n", &[]),
        ("e-of-another-bore", "for_bore = \"72 mm\"\n", &[]),
        ("f-nobody-said", "", &[]),
        ("g-was-elsewhere", "", &elsewhere),
        ("h-says-so-and-is-too-large", "fits = [\"cicada\"]\nfor_bore = \"72 mm\"\n", &[]),
    ];
    let known = want(&shelf, Some(54.0));
    assert_eq!(offered(&known), ["a-says-so", "b-was-in-it", "c-of-its-bore"]);
    assert_eq!(asked(&known), [("f-nobody-said", &Ask::Fits), ("g-was-elsewhere", &Ask::Fits)]);
    let without_bore = want(&shelf, None);
    assert_eq!(offered(&without_bore), ["a-says-so", "b-was-in-it", "h-says-so-and-is-too-large"]);
    assert_eq!(
        asked(&without_bore).len(),
        4,
        "of its bore and of another are not known without the engine's"
    );
}

#[test]
fn the_same_bore_is_nearer_than_half_of_an_oversize() {
    let of =
        |bore: &str| Fitting::of(&part(&format!("{RING}for_bore = \"{bore}\"\n"), &[]), at("2026-01-01"));
    for (bore, fits) in
        [("54 mm", true), ("53.95 mm", true), ("54.09 mm", true), ("54.25 mm", false), ("53.75 mm", false)]
    {
        assert_eq!(of(bore).fits("cicada", Some(54e-3)) == Fits::Yes, fits, "{bore}");
    }
    let bored = Fitting::of(
        &part(
            &format!("{RING}for_bore = \"54 mm\"\n"),
            &["2025-01-01  fitted cicada", "2025-02-01  removed"],
        ),
        at("2026-01-01"),
    );
    assert!(matches!(bored.fits("cicada", Some(54.5e-3)), Fits::OtherBore(..)), "bored since it was in");
}

#[test]
fn what_is_scored_is_no_spare() {
    let events =
        |more: &str| vec!["2026-02-01  fitted cicada".to_owned(), format!("2026-03-01  removed {more}")];
    let shelf_of = |more: &str| {
        let events = events(more);
        let events: Vec<&str> = events.iter().map(String::as_str).collect();
        want(&[("one", "", &events)], Some(54.0))
    };
    assert_eq!(offered(&shelf_of("")), ["one"]);
    let scored = shelf_of("note=scored");
    assert!(offered(&scored).is_empty());
    assert_eq!(asked(&scored), [("one", &Ask::Sound("scored".into()))]);
}

#[test]
fn how_a_part_is_follows_what_was_said_last() {
    let condition = |events: &[(&str, &str)]| {
        let mut text = RING.to_owned();
        for (index, (did, more)) in events.iter().enumerate() {
            text.push_str(&format!(
                "[events.e{index}]\ndate = \"2026-02-0{}\"\ndid = \"{did}\"\n{more}\n",
                index + 1
            ));
        }
        toml::from_str::<reedbook::notebook::Part>(&text).unwrap().condition_at(at("2026-06-01"))
    };
    let fitted = ("fitted", "engine = \"cicada\"");
    let out = |more: &'static str| [fitted, ("removed", more)];
    assert_eq!(condition(&out("")), Condition::Fine);
    for sound in ["no scuff, not worn", "dry, without any cracks", "never seized", "skirt narrow but clean"] {
        let more = format!("note = \"{sound}\"");
        assert_eq!(condition(&[fitted, ("removed", &more)]), Condition::Fine, "{sound}");
    }
    for bad in [
        "scored on the exhaust side",
        "Cracked!",
        "worn out",
        "pin bent",
        "seized",
        "broken land",
        "not new, and scuffed",
    ] {
        let more = format!("note = \"{bad}\"");
        assert_eq!(condition(&[fitted, ("removed", &more)]), Condition::Asked(bad.into()), "{bad}");
    }
    let unusable = [fitted, ("removed", "usable = false\nnote = \"looks fine\"")];
    assert_eq!(condition(&unusable), Condition::Unusable(Some("looks fine".into())));
    let after = |next: (&'static str, &'static str)| condition(&[unusable[0], unusable[1], next]);
    assert_eq!(after(("inspected", "usable = true")), Condition::Fine);
    assert_eq!(after(("renewed", "")), Condition::Fine);
    assert!(
        matches!(after(("inspected", "")), Condition::Unusable(_)),
        "a look without a word changes nothing"
    );
    let said = [fitted, ("removed", "note = \"scored, honed since\"\nusable = true")];
    assert_eq!(condition(&said), Condition::Fine, "what is said goes before words");
}
