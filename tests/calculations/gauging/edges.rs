//! Limits, and what is said of a value.

use reedbook::engine::doubt::Doubtful;
use reedbook::engine::gauging::edges::{Edges, Grade, Judged, RangeSide, judge};

use super::refused;
use Grade::{Good, Replace, Watch};
use RangeSide::{Above, Below};

/// The grades from the smallest values up.
const ORDER: [Grade; 5] = [Replace(Below), Watch(Below), Good, Watch(Above), Replace(Above)];

fn all() -> Edges {
    Edges::new(Some(1.0), Some(2.0), Some(4.0), Some(5.0), "").unwrap()
}

fn said(value: f64, standard: f64, edges: &Edges) -> Judged {
    judge(&Doubtful::new(value, "gauge", standard), edges).unwrap().unwrap()
}

#[test]
fn every_edge_and_side_is_judged() {
    let edges = all();
    for (value, grade) in
        [(0.5, ORDER[0]), (1.5, ORDER[1]), (3.0, ORDER[2]), (4.5, ORDER[3]), (6.0, ORDER[4])]
    {
        assert_eq!(said(value, 0.0, &edges), Judged::Is(grade));
        // Twice the doubt still stays this side of every edge.
        assert_eq!(said(value, 0.24, &edges), Judged::Is(grade));
        assert_eq!(said(value, 0.24, &edges).nearest(), grade);
    }
    for (at, edge) in [1.0, 2.0, 4.0, 5.0].into_iter().enumerate() {
        let (lower, upper) = (ORDER[at], ORDER[at + 1]);
        for (value, nearest) in [(edge - 0.1, lower), (edge + 0.1, upper)] {
            let judged = said(value, 0.051, &edges);
            assert_eq!(judged, Judged::TooClose { nearest, between: (lower, upper) });
            assert_eq!(judged.nearest(), nearest);
            // Half the interval of 0.1 is less than what is between.
            assert_eq!(said(value, 0.049, &edges), Judged::Is(nearest));
        }
        // On the edge is within.
        let inner = if at < 2 { upper } else { lower };
        assert_eq!(said(edge, 0.0, &edges), Judged::Is(inner));
        assert_eq!(said(edge, 0.01, &edges), Judged::TooClose { nearest: inner, between: (lower, upper) });
        assert_eq!(said(edge - 1e-6, 0.0, &edges), Judged::Is(lower));
        assert_eq!(said(edge + 1e-6, 0.0, &edges), Judged::Is(upper));
    }
    // Nought is an edge like any other.
    let nought = |least, most| Edges::new(least, None, None, most, "m").unwrap();
    for edges in [nought(Some(0.0), None), nought(None, Some(0.0))] {
        assert_eq!(said(0.0, 0.0, &edges), Judged::Is(Good));
    }
    assert_eq!(said(-1e-9, 0.0, &nought(Some(0.0), None)), Judged::Is(Replace(Below)));
    assert_eq!(said(1e-9, 0.0, &nought(None, Some(0.0))), Judged::Is(Replace(Above)));
    // An edge at the end of the interval is not within it.
    assert_eq!(said(2.5, 0.25, &edges), Judged::Is(Good));
    assert_eq!(said(3.5, 0.25, &edges), Judged::Is(Good));
    // More than one edge within the doubt.
    assert_eq!(said(3.0, 0.75, &edges), Judged::TooClose { nearest: Good, between: (ORDER[1], ORDER[3]) });
    assert_eq!(said(1.5, 2.0, &edges), Judged::TooClose { nearest: ORDER[1], between: (ORDER[0], ORDER[4]) });
}

/// Each edge alone, and without the others on its side.
#[test]
fn edges_may_be_left_open() {
    let open = [None; 4];
    for (at, edge) in [1.0, 2.0, 4.0, 5.0].into_iter().enumerate() {
        let mut set = open;
        set[at] = Some(edge);
        let edges = Edges::new(set[0], set[1], set[2], set[3], "m").unwrap();
        assert_eq!(edges.all(), set);
        let (lower, upper) =
            [(Replace(Below), Good), (Watch(Below), Good), (Good, Watch(Above)), (Good, Replace(Above))][at];
        assert_eq!(said(-100.0, 1.0, &edges), Judged::Is(lower));
        assert_eq!(said(100.0, 1.0, &edges), Judged::Is(upper));
        assert_eq!(
            said(edge - 0.1, 0.1, &edges),
            Judged::TooClose { nearest: lower, between: (lower, upper) }
        );
        assert_eq!(
            said(edge + 0.1, 0.1, &edges),
            Judged::TooClose { nearest: upper, between: (lower, upper) }
        );
    }
    let none = Edges::new(None, None, None, None, "m").unwrap();
    assert_eq!(judge(&Doubtful::new(1.0, "gauge", 1.0), &none), Ok(None));
}

/// What arithmetic leaves behind does not push a value over an edge.
#[test]
fn a_difference_that_is_the_edge_is_on_it() {
    let edges = Edges::new(None, Some(0.06e-3), Some(0.06e-3), None, "m").unwrap();
    for piston_um in 0..2000 {
        let piston = 0.0539 + 1e-6 * f64::from(piston_um);
        let room = (piston + 0.06e-3) - piston;
        assert_eq!(said(room, 0.0, &edges), Judged::Is(Good), "{room}");
    }
    let below = Edges::new(Some(-0.1e-3), None, None, Some(-0.05e-3), "m").unwrap();
    assert_eq!(said(0.2 - 0.2001, 0.0, &below), Judged::Is(Good));
    assert_eq!(said(0.2 - 0.200_05, 0.0, &below), Judged::Is(Good));
    assert_eq!(said(-0.100_01e-3, 0.0, &below), Judged::Is(Replace(Below)));
    assert_eq!(said(-0.049_99e-3, 0.0, &below), Judged::Is(Replace(Above)));
}

#[test]
fn verdicts_rise_with_the_value_and_widen_with_the_doubt() {
    let rank = |grade: Grade| ORDER.iter().position(|known| *known == grade).unwrap();
    let mut draw = fastrand::Rng::with_seed(31);
    for _ in 0..2000 {
        let mut limits = [0.0; 4].map(|_: f64| 10.0 * draw.f64());
        limits.sort_by(f64::total_cmp);
        let [least, below, above, most] = limits.map(|limit| draw.bool().then_some(limit));
        let edges = Edges::new(least, below, above, most, "").unwrap();
        let (value, doubt, more) = (12.0 * draw.f64() - 1.0, draw.f64(), draw.f64());
        let Some(judged) = judge(&Doubtful::new(value, "a", doubt), &edges).unwrap() else {
            assert_eq!(edges.all(), [None; 4]);
            continue;
        };
        let sure = said(value, 0.0, &edges);
        assert_eq!(sure, Judged::Is(judged.nearest()));
        assert!(rank(said(value + more, 0.0, &edges).nearest()) >= rank(judged.nearest()));
        let crossed = edges.all().into_iter().flatten().filter(|edge| (edge - value).abs() < 2.0 * doubt);
        match judged {
            Judged::Is(grade) => assert!(crossed.count() == 0, "{value} {doubt} {grade:?} {edges:?}"),
            Judged::TooClose { nearest, between: (lower, upper) } => {
                assert!(crossed.count() > 0);
                assert!(rank(lower) <= rank(nearest) && rank(nearest) <= rank(upper) && lower != upper);
                // More doubt makes nothing certain.
                assert!(matches!(said(value, doubt + more, &edges), Judged::TooClose { .. }));
            }
        }
    }
}

#[test]
fn limits_in_a_wrong_order_are_refused_and_named() {
    let names = [
        "limit under which it is replaced",
        "limit under which it is watched",
        "limit over which it is watched",
        "limit over which it is replaced",
    ];
    let by = |set: [Option<f64>; 4]| Edges::new(set[0], set[1], set[2], set[3], "m");
    for first in 0..4 {
        for second in first + 1..4 {
            let mut set = [None; 4];
            (set[first], set[second]) = (Some(0.000_2), Some(0.000_1));
            let error = by(set).unwrap_err();
            assert_eq!(error.quantities(), [names[first], names[second]]);
            (set[first], set[second]) = (Some(0.000_1), Some(0.000_1));
            assert!(by(set).is_ok());
        }
        for bad in [f64::NAN, f64::INFINITY, 1.1e9, -1.1e9] {
            let mut set = [None; 4];
            set[first] = Some(bad);
            assert_eq!(refused(by(set)), "limit of the figure");
        }
    }
    let said = by([Some(1e-4), None, Some(5e-5), None]).unwrap_err().to_string();
    let wanted = "The limit under which it is replaced of 0.1 mm cannot be above the limit over which it is watched of 0.05 mm. Swap them, or leave one out.";
    assert_eq!(said, wanted);
    // Each is held against the one before it, not against the first.
    assert_eq!(by([Some(1.0), Some(3.0), Some(2.0), None]).unwrap_err().quantities(), names[1..3]);
    assert_eq!(by([Some(1.0), None, Some(3.0), Some(2.0)]).unwrap_err().quantities(), names[2..]);
    assert!(Edges::new(Some(-1e9), None, None, Some(1e9), "").is_ok());
}

#[test]
fn a_figure_that_is_no_number_is_not_judged() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1.1e9, -1.1e9] {
        assert_eq!(refused(judge(&Doubtful::exact(bad), &all())), "figure that is judged");
    }
    for bad in [f64::NAN, f64::INFINITY, 1.1e9] {
        let figure = Doubtful::new(3.0, "a", bad);
        assert_eq!(refused(judge(&figure, &all())), "standard uncertainty of the figure that is judged");
    }
    let none = Edges::new(None, None, None, None, "").unwrap();
    assert_eq!(refused(judge(&Doubtful::exact(f64::NAN), &none)), "figure that is judged");
}
