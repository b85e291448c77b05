//! What the demo's own record forbids, by its lean runs.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use reedbook::advice::held::{Tables, holds};
use reedbook::machine::Moment;
use reedbook::notebook::When;
use reedbook::store::{Book, Garage, SetupName, demo_files, replay};

#[test]
fn in_the_demo_only_what_was_lean_last_holds() {
    let folder = tempfile::tempdir().unwrap();
    let moment = Moment { now: When::default(), seed: Some("demo".into()) };
    replay(&folder.path().join("garage"), &demo_files(), &moment, |_, _| {}).unwrap();
    let garage = Garage::open(&folder.path().join("garage")).unwrap();
    let book = Book::open(&garage).unwrap();
    let (jets, needles, shares) =
        (garage.jets().unwrap(), garage.needles().unwrap(), garage.shares().unwrap());
    let on_the_bike = |bike: &str| {
        let own_box = garage.bike(bike).unwrap().own_box;
        let tables = Tables { jets: &jets, needles: &needles, shares: &shares, own_box: own_box.as_ref() };
        let proven = book.recorded(bike, &SetupName::Proven).unwrap();
        let now = book.combination(bike, Some(&proven)).unwrap();
        holds(&book, bike, &now, &tables).unwrap()
    };
    let moth = on_the_bike("moth");
    assert!(moth.holds.iter().all(|hold| hold.zone != "full"), "full throttle was right since on more fuel");
    let half = moth.holds.iter().find(|hold| hold.zone == "half").unwrap();
    assert_eq!((half.outing.outing.date.day().as_str(), half.setup()), ("2026-10-03", Some(38)));
    assert_eq!(half.words, "slightly lean");
    assert!(moth.remarks.is_empty(), "this fuel was judged itself since: {:?}", moth.remarks);
    for bike in ["ibex", "wren"] {
        assert!(on_the_bike(bike).holds.is_empty(), "{bike}");
    }
}
