//! What the demo's own record forbids, by its lean runs.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout, missing_docs)] // a test may fail loudly

use reedbook::advice::held::{Tables, holds};
use reedbook::machine::Moment;
use reedbook::notebook::When;
use reedbook::store::{Book, Garage, demo_files, replay};

#[test]
fn in_the_demo_only_what_was_lean_last_holds() {
    let folder = tempfile::tempdir().unwrap();
    let moment = Moment { now: When::default(), seed: Some("demo".into()) };
    replay(&folder.path().join("garage"), &demo_files(), &moment, |_, _| {}).unwrap();
    let garage = Garage::open(&folder.path().join("garage")).unwrap();
    let book = Book::open(&garage).unwrap();
    let today = When::from_unix(1_800_000_000, 0).unwrap();
    let (jets, needles, shares) =
        (garage.jets().unwrap(), garage.needles().unwrap(), garage.shares().unwrap());
    for bike in ["moth", "ibex", "wren"] {
        let own_box = garage.bike(bike).unwrap().own_box;
        let tables = Tables { jets: &jets, needles: &needles, shares: &shares, own_box: own_box.as_ref() };
        for setup in book.setups(bike).unwrap() {
            let now = book.combination(bike, Some(&setup)).unwrap();
            let held = holds(&book, bike, &now, today, &tables).unwrap();
            for hold in &held.holds {
                println!(
                    "{bike} {} held by {} setup {:?} {} {} main {:?} least {:?} over it {:?}",
                    setup.number,
                    hold.outing.outing.date.short(),
                    hold.setup(),
                    hold.zone,
                    hold.words,
                    hold.main,
                    hold.least_main(&tables),
                    hold.least_over(now.setup.as_ref().unwrap(), None, &tables)
                );
            }
            println!("{bike} {} {:?} last {}", setup.number, held.remarks, held.of_last_run.len());
        }
    }
}
