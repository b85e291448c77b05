//! What the demo's own record forbids, by its lean runs.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use reedbook::advice::held::{Tables, holds};
use reedbook::machine::Moment;
use reedbook::notebook::{Assignment, When};
use reedbook::store::{Book, ChangeRequest, SetupName, change};

use crate::replayed::demo_garage;

#[test]
fn in_the_demo_only_what_was_lean_last_holds() {
    let garage = demo_garage();
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

/// What was worked out for one setup is not put on another that was recorded in the meantime.
#[test]
fn an_answer_for_an_older_setup_is_not_recorded() {
    let garage = demo_garage();
    let request = ChangeRequest {
        bike: "moth".into(),
        assignments: vec![Assignment::parse("jetting.main=176").unwrap()],
        why: "worked out a while ago".into(),
        made_for: Some(37),
        ..ChangeRequest::default()
    };
    let moment = Moment {
        now: When::parse("2026-10-10T13:40+02:00", When::default().offset()).unwrap(),
        seed: Some("late".into()),
    };
    let error = change(&garage, &request, &moment).unwrap_err().to_string();
    assert!(error.contains("Setup 38 was recorded meanwhile"), "{error}");
    assert_eq!(Book::open(&garage).unwrap().latest("moth").unwrap().unwrap().number, 38);
}
