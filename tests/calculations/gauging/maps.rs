//! Maps of a bore.

use reedbook::engine::EngineError;
use reedbook::engine::doubt::Doubtful;
use reedbook::engine::gauging::bore_map::{BoreAxis, BoreMap, Level};

use super::{refused, same};
use BoreAxis::{AcrossPin, AlongPin, DiagonalLeft, DiagonalRight};

/// A depth in mm with diameters that lie so many um above 54 mm, each with 1 um of its own.
fn level(name: &str, depth_mm: f64, readings: &[(BoreAxis, f64)]) -> Level {
    let readings = readings.iter().map(|(axis, um)| {
        let own = format!("reading {name} {}", axis.name());
        (*axis, Doubtful::new(0.054 + 1e-6 * um, &own, 1e-6))
    });
    Level { name: name.to_owned(), depth_m: 1e-3 * depth_mm, readings: readings.collect() }
}

fn worn() -> Vec<Level> {
    vec![
        level("top", 12.0, &[(AlongPin, 4.0), (AcrossPin, 9.0)]),
        level("middle", 30.0, &[(AlongPin, 2.0), (AcrossPin, 25.0)]),
        level("bottom", 50.0, &[(AlongPin, 1.0), (AcrossPin, 6.0), (DiagonalLeft, 3.0)]),
    ]
}

fn um(found: &Doubtful) -> f64 {
    (1e6 * found.value() * 1000.0).round() / 1000.0
}

#[test]
fn a_worn_bore_is_read_off_its_map() {
    let map = BoreMap::new(worn()).unwrap();
    let (least, greatest) = (map.least(), map.greatest());
    assert_eq!((least.level.as_str(), least.axis), ("bottom", AlongPin));
    assert_eq!((greatest.level.as_str(), greatest.axis), ("middle", AcrossPin));
    assert!(same(least.diameter.value(), 0.054_001) && same(greatest.diameter.value(), 0.054_025));
    assert!(same(least.depth_m, 0.05) && same(greatest.depth_m, 0.03));
    assert!(same(least.diameter.uncertainty(), 1e-6));
    let taper = map.taper().unwrap();
    assert!((taper.difference.value() - 19e-6).abs() < 1e-12);
    assert_eq!((taper.axis, taper.wide.as_str(), taper.narrow.as_str()), (AcrossPin, "middle", "bottom"));
    assert!(same(taper.difference.uncertainty(), 2e-12_f64.sqrt()));
    let oval = map.out_of_round().unwrap();
    assert!((oval.difference.value() - 23e-6).abs() < 1e-12);
    assert_eq!((oval.level.as_str(), oval.wide, oval.narrow), ("middle", AcrossPin, AlongPin));
    assert_eq!(map.missing(), None);
    // However it was written down.
    let mut turned = worn();
    turned.reverse();
    for level in &mut turned {
        level.readings.reverse();
    }
    assert_eq!(BoreMap::new(turned).unwrap(), map);
    let names: Vec<&str> = map.levels().iter().map(|level| level.name.as_str()).collect();
    assert_eq!(names, ["top", "middle", "bottom"]);
}

#[test]
fn wide_and_narrow_may_change_places() {
    let map = BoreMap::new(vec![
        level("top", 12.0, &[(AlongPin, 9.0), (DiagonalRight, 1.0)]),
        level("bottom", 50.0, &[(AlongPin, 2.0), (DiagonalRight, 1.0)]),
    ]);
    let map = map.unwrap();
    let taper = map.taper().unwrap();
    assert_eq!((taper.axis, taper.wide.as_str(), taper.narrow.as_str()), (AlongPin, "top", "bottom"));
    let oval = map.out_of_round().unwrap();
    assert_eq!((oval.level.as_str(), oval.wide, oval.narrow), ("top", AlongPin, DiagonalRight));
    assert!((um(&taper.difference), um(&oval.difference)) == (7.0, 8.0));
    // Worn further down.
    let bores = [("top", 12.0, 1.0), ("bottom", 50.0, 4.0)]
        .map(|(name, depth, um)| level(name, depth, &[(AlongPin, 0.0), (AcrossPin, um)]));
    let taper = BoreMap::new(bores.to_vec()).unwrap().taper().unwrap();
    assert_eq!((taper.axis, taper.wide.as_str(), taper.narrow.as_str()), (AcrossPin, "bottom", "top"));
    // All alike: the upper depth and the first axis are named, and the doubt is that of a difference.
    let bores =
        [("a", 1.0), ("b", 2.0)].map(|(name, at)| level(name, at, &[(AcrossPin, 5.0), (AlongPin, 5.0)]));
    let map = BoreMap::new(bores.to_vec()).unwrap();
    assert_eq!((map.least().level.as_str(), map.least().axis), ("a", AlongPin));
    assert_eq!((map.greatest().level.as_str(), map.greatest().axis), ("a", AlongPin));
    let (taper, oval) = (map.taper().unwrap(), map.out_of_round().unwrap());
    assert_eq!((taper.axis, taper.wide.as_str(), taper.narrow.as_str()), (AlongPin, "a", "b"));
    assert_eq!((oval.level.as_str(), oval.wide, oval.narrow), ("a", AlongPin, AcrossPin));
    assert!(taper.difference.value() == 0.0 && same(taper.difference.uncertainty(), 2e-12_f64.sqrt()));
}

#[test]
fn taper_wants_an_axis_at_two_depths_and_out_of_round_two_axes_at_one() {
    let by = |levels: &[Level]| BoreMap::new(levels.to_vec()).unwrap();
    let crossed = by(&[level("a", 1.0, &[(AlongPin, 1.0)]), level("b", 2.0, &[(AcrossPin, 9.0)])]);
    assert!(crossed.taper().is_none() && crossed.out_of_round().is_none());
    let straight = by(&[level("a", 1.0, &[(AlongPin, 1.0)]), level("b", 2.0, &[(AlongPin, 9.0)])]);
    assert!(straight.taper().is_some() && straight.out_of_round().is_none());
    let one = by(&[level("a", 1.0, &[(AlongPin, 1.0), (DiagonalLeft, 2.0)])]);
    assert!(one.taper().is_none() && one.out_of_round().is_some());
    let single = by(&[level("a", 1.0, &[(DiagonalLeft, 2.0)])]);
    assert_eq!(single.least(), single.greatest());
}

#[test]
fn a_map_says_what_it_lacks() {
    let (two, one) = ([(AlongPin, 1.0), (AcrossPin, 1.0)], [(AlongPin, 1.0)]);
    let missing = |levels: &[Level]| BoreMap::new(levels.to_vec()).unwrap().missing();
    let first = "A full bore map has 3 depths with 2 axes each; this one has";
    let single = missing(&[level("top", 1.0, &one)]).unwrap();
    assert_eq!(single, format!("{first} 0. Measure a second axis at top. Measure at 2 more depths."));
    let pair = missing(&[level("top", 1.0, &two), level("middle", 2.0, &two)]).unwrap();
    assert_eq!(pair, format!("{first} 2. Measure at 1 more depth."));
    let three = [level("top", 1.0, &two), level("middle", 2.0, &one), level("bottom", 3.0, &one)];
    let said = missing(&three).unwrap();
    assert_eq!(said, format!("{first} 1. Measure a second axis at middle, bottom."));
    let four = [&three[..2], &[level("bottom", 3.0, &two), level("skirt", 4.0, &two)]].concat();
    assert_eq!(missing(&four), None);
}

/// One error of the setting moves all diameters and no difference; doubts too.
#[test]
fn a_common_error_of_setting_moves_no_difference() {
    let mut draw = fastrand::Rng::with_seed(21);
    for _ in 0..300 {
        let mut levels = Vec::new();
        for (name, depth) in [("a", 10.0), ("b", 25.0), ("c", 40.0), ("d", 60.0)] {
            let mut drawn = |axis: BoreAxis| (draw.u8(..4) > 0).then(|| (axis, 60.0 * draw.f64()));
            let readings: Vec<(BoreAxis, f64)> = BoreAxis::ALL.into_iter().filter_map(&mut drawn).collect();
            if !readings.is_empty() {
                levels.push(level(name, depth, &readings));
            }
        }
        if levels.is_empty() {
            continue;
        }
        let map = BoreMap::new(levels.clone()).unwrap();
        let off = Doubtful::new(2e-5 * draw.f64() - 1e-5, "setting", 4e-6);
        let readings = levels.iter_mut().flat_map(|level| &mut level.readings);
        for reading in readings {
            reading.1 = reading.1.plus(&off);
        }
        let shifted = BoreMap::new(levels).unwrap();
        let near = |a: &Doubtful, b: &Doubtful| {
            (a.value() - b.value()).abs() < 1e-15 && (a.uncertainty() - b.uncertainty()).abs() < 1e-15
        };
        assert!(near(&shifted.least().diameter.minus(&off), &map.least().diameter));
        assert!(same(shifted.greatest().diameter.uncertainty(), 17e-12_f64.sqrt()));
        match (shifted.taper(), map.taper()) {
            (Some(a), Some(b)) => assert!(near(&a.difference, &b.difference) && a.axis == b.axis),
            (a, b) => assert_eq!(a.is_some(), b.is_some()),
        }
        match (shifted.out_of_round(), map.out_of_round()) {
            (Some(a), Some(b)) => assert!(near(&a.difference, &b.difference) && a.level == b.level),
            (a, b) => assert_eq!(a.is_some(), b.is_some()),
        }
        compare_with_pairs(&map);
    }
}

/// Name of the depth, axis, diameter.
type Place<'a> = (&'a str, BoreAxis, f64);

/// Every pair, the plain way.
fn compare_with_pairs(map: &BoreMap) {
    let spots: Vec<Place> = map
        .levels()
        .iter()
        .flat_map(|level| {
            level.readings.iter().map(|(axis, size)| (level.name.as_str(), *axis, size.value()))
        })
        .collect();
    let widest = |kept: fn(&Place, &Place) -> bool| {
        let pairs = spots.iter().flat_map(|a| spots.iter().map(move |b| (a, b)));
        pairs.filter(|(a, b)| kept(a, b)).map(|(a, b)| a.2 - b.2).fold(f64::MIN, f64::max)
    };
    let taper = map.taper().map_or(f64::MIN, |taper| taper.difference.value());
    assert!(same(taper, widest(|a, b| a.1 == b.1 && a.0 != b.0)));
    let oval = map.out_of_round().map_or(f64::MIN, |oval| oval.difference.value());
    assert!(same(oval, widest(|a, b| a.1 != b.1 && a.0 == b.0)));
    let sizes = || spots.iter().map(|spot| spot.2);
    assert!(same(map.least().diameter.value(), sizes().fold(f64::MAX, f64::min)));
    assert!(same(map.greatest().diameter.value(), sizes().fold(f64::MIN, f64::max)));
}

/// What the documentation says that picking does to a true bore.
#[test]
fn picked_readings_err_as_much_as_is_said() {
    let mut draw = fastrand::Rng::with_seed(22);
    // The sum of twelve even draws is near enough to a normal one.
    let mut normal = || (0..12).map(|_| draw.f64()).sum::<f64>() - 6.0;
    let (rounds, mut sums) = (20_000, [0.0; 4]);
    for _ in 0..rounds {
        let bores = [1.0, 2.0, 3.0].map(|at| level(&at.to_string(), at, &[(AlongPin, normal())]));
        let map = BoreMap::new(bores.to_vec()).unwrap();
        sums[0] += 1e6 * map.taper().unwrap().difference.value();
        sums[1] += 1e6 * (map.greatest().diameter.value() - 0.054);
        sums[2] += 1e6 * (map.least().diameter.value() - 0.054);
        let pair = BoreMap::new(vec![level("a", 1.0, &[(AlongPin, normal()), (AcrossPin, normal())])]);
        sums[3] += 1e6 * pair.unwrap().out_of_round().unwrap().difference.value();
    }
    let expected = [1.693, 0.846, -0.846, 1.128];
    for (sum, expected) in sums.iter().zip(expected) {
        let found = sum / f64::from(rounds);
        assert!((found - expected).abs() < 0.03, "{found}, {expected}");
    }
}

#[test]
fn what_is_no_map_is_refused() {
    let by = |levels: &[Level]| BoreMap::new(levels.to_vec());
    let one = [(AlongPin, 1.0)];
    let good = level("top", 12.0, &one);
    assert!(by(std::slice::from_ref(&good)).is_ok());
    assert!(matches!(by(&[]), Err(EngineError::TooFew { field: "bore map", found: 0, needed: 1, .. })));
    assert_eq!(refused(by(&[level("top", 12.0, &[])])), "list of diameters at one depth");
    for (depth, fine) in [(-0.1, 0.0), (500.1, 500.0), (f64::NAN, 1.0)] {
        assert_eq!(refused(by(&[level("a", depth, &one)])), "depth below the deck");
        assert!(by(&[level("a", fine, &one)]).is_ok());
    }
    let twice = by(&[level("a", 3.0, &[(AlongPin, 1.0), (AcrossPin, 1.0), (AlongPin, 2.0)])]);
    assert_eq!(refused(twice), "number of readings along one axis at one depth");
    let named = by(&[good.clone(), level("middle", 20.0, &one), level("top", 30.0, &one)]);
    assert_eq!(refused(named), "number of depths of one name");
    let deep = by(&[level("a", 30.0, &one), good.clone(), level("b", 12.0, &one)]).unwrap_err().to_string();
    let said =
        "Entry 2 of the depths of the bore map is 12 mm, not above the 12 mm before it. Give each depth once";
    assert!(deep.starts_with(said), "{deep}");
    let mut sized = good.clone();
    for (size, fine) in [(0.0009, 0.001), (1.1, 1.0), (f64::NAN, 0.05)] {
        sized.readings[0].1 = Doubtful::exact(size);
        assert_eq!(refused(by(std::slice::from_ref(&sized))), "diameter");
        sized.readings[0].1 = Doubtful::exact(fine);
        assert!(by(std::slice::from_ref(&sized)).is_ok());
        sized.readings[0].1 = Doubtful::new(0.05, "a", f64::NAN);
        assert_eq!(refused(by(std::slice::from_ref(&sized))), "standard uncertainty of the length");
    }
    // 54 mm and 59.4 mm, or a millimetre apart.
    let slipped = by(&[good.clone(), level("b", 20.0, &[(AlongPin, 5400.0)])]);
    assert!(refused(slipped).starts_with("difference of the largest and the smallest diameter"));
    assert!(by(&[good, level("b", 20.0, &[(AlongPin, 1000.0)])]).is_ok());
}

#[test]
fn axes_have_names() {
    let names = BoreAxis::ALL.map(BoreAxis::name);
    assert_eq!(names, ["along the pin", "across the pin", "diagonal to the left", "diagonal to the right"]);
}
