//! Two builds side by side.

use reedbook::advice::building::{KINDS, Unlike, kind_of, unlike};
use reedbook::engine::doubt::COVERAGE;

use super::{GAUGES, UM, judged};

/// The names of figures, the seat behind them, with the sides that have each.
fn told(found: &[Unlike]) -> Vec<String> {
    let line = |one: &Unlike| {
        let figure = one.figure().unwrap();
        let sides = (if one.old.is_some() { "old" } else { "" }, if one.new.is_some() { "new" } else { "" });
        format!("{} {}{}", figure.words(), sides.0, sides.1)
    };
    found.iter().map(line).collect()
}

#[test]
fn figures_of_two_builds_are_paired_in_the_order_of_reading() {
    let old = judged(
        "[squish]\nfront = \"0.78 mm\"\nrear = \"0.70 mm\"\n[crank]\nrunout_left = \"0.01 mm\"\n[seats.main-left]\n\
         case_bore = \"51.985 mm\"\nbearing_outside = \"51.995 mm\"\n[seats.main-right]\ncase_bore = \"51.984 mm\"\n\
         bearing_outside = \"51.995 mm\"\n",
    );
    let new = judged(
        "[squish]\nfront = \"0.80 mm\"\n[rod]\nside_clearance = \"0.5 mm\"\n[reed]\ngap = \"0.02 mm\"\n\
         [seats.main-right]\ncase_bore = \"51.990 mm\"\nbearing_outside = \"51.995 mm\"\n[seats.spare]\n\
         case_bore = \"61.990 mm\"\nbearing_outside = \"61.995 mm\"\n",
    );
    let found = unlike(&old.figures, &new.figures);
    let wanted = [
        "rod side clearance new",
        "crank run-out old",
        "squish clearance oldnew",
        "least squish old",
        "squish, tilt old",
        "reed gap new",
        "bearing in case, main-left old",
        "bearing in case, main-right oldnew",
        "bearing in case, spare new",
    ];
    assert_eq!(told(&found), wanted);
    // The right main was pressed out by 6 um: 5 less 11.
    let right = found.iter().find(|one| one.figure().unwrap().seat.as_deref() == Some("main-right")).unwrap();
    assert!((right.difference().unwrap().0 / UM + 6.0).abs() < 0.01, "{:?}", right.difference());
    for one in found.iter().filter(|one| one.old.is_none() || one.new.is_none()) {
        assert_eq!((one.difference(), one.is_told_apart()), (None, None));
    }
    assert!(unlike(&[], &[]).is_empty());
}

/// Twice the root of both doubts squared is what it takes: 6.4 um for pins that were read to 2.021 um each... 5.7155.
#[test]
fn gauges_tell_two_builds_apart_beyond_their_doubt() {
    let pin =
        |mm: f64| judged(&format!("temperature = \"20 C\"\n{GAUGES}[pin]\ndiameter = \"{mm:.4} mm\"\n"));
    let least = COVERAGE * 2.020_726 * 2.0_f64.sqrt();
    assert!((least - 5.7155).abs() < 1e-3);
    for (worn_um, told_apart) in [(0.0, false), (5.7, false), (5.8, true), (20.0, true)] {
        for sign in [1.0, -1.0] {
            let (old, new) = (pin(15.0), pin(15.0 - sign * worn_um / 1000.0));
            let found = unlike(&old.figures, &new.figures);
            let [one] = found.as_slice() else { panic!("{found:?}") };
            let (moved, doubt) = one.difference().unwrap();
            assert!((moved / UM + sign * worn_um).abs() < 1e-6, "{moved}");
            assert!((doubt / UM - least / COVERAGE).abs() < 1e-4, "{doubt}");
            assert_eq!(one.is_told_apart(), Some(told_apart), "{worn_um} um");
        }
    }
}

#[test]
fn every_kind_of_figure_has_a_name_of_its_own() {
    for (at, kind) in KINDS.iter().enumerate() {
        assert_eq!(kind_of(kind.name).map(|found| found.words), Some(kind.words));
        assert!(KINDS.iter().skip(at + 1).all(|other| other.name != kind.name && other.words != kind.words));
    }
    assert!(kind_of("bore").is_none());
}
