//! Working on a map and looking at it: what moves, what stays, what is refused, and the laws that hold for any map.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use proptest::collection::vec;
use proptest::prelude::*;
use reedbook::notebook::maps::check::check;
use reedbook::notebook::maps::shape::{
    Along, MapAxis, Rounding, Smoothing, decimals_needed, decimals_of, dropped, merged, rounded, scaled,
    shifted, smoothed,
};
use reedbook::notebook::{CellPlace, MapLimits, MapTable, Region, RemarkKind, ShapeError};

fn curve(rpm: &[f64], cells: &[f64]) -> MapTable {
    MapTable {
        rpm: rpm.to_vec(),
        throttle: Vec::new(),
        rows: vec![cells.to_vec()],
        unit: "deg".into(),
        file: Some("maps/wet.csv".into()),
    }
}

fn over_throttle(rpm: &[f64], throttle: &[f64], rows: &[&[f64]]) -> MapTable {
    let rows = rows.iter().map(|row| row.to_vec()).collect();
    MapTable { rpm: rpm.to_vec(), throttle: throttle.to_vec(), rows, unit: "deg".into(), file: None }
}

fn invented() -> MapTable {
    curve(&[4000.0, 6000.0, 8000.0, 9000.0, 12000.0], &[24.0, 26.0, 20.5, 18.0, 12.0])
}

fn deep() -> MapTable {
    over_throttle(
        &[4000.0, 8000.0, 9000.0],
        &[0.0, 50.0, 100.0],
        &[&[20.0, 18.0, 16.0], &[24.0, 25.0, 19.0], &[22.0, 20.0, 17.0]],
    )
}

fn speeds(from: f64, to: f64) -> Region {
    Region { rpm: Some((from, to)), throttle: None }
}

fn says(error: &ShapeError, message: &str, help: &str) {
    assert_eq!((error.to_string().as_str(), error.help().as_str()), (message, help));
}

#[test]
fn a_part_is_read_as_typed() {
    let read = |rpm, throttle| Region::parse(rpm, throttle).unwrap();
    assert_eq!(read(Some("9000-12000"), None), speeds(9000.0, 12000.0));
    assert_eq!(read(Some(" 9500 rpm "), None), speeds(9500.0, 9500.0));
    assert_eq!(
        read(Some("9000 - 12000 rpm"), Some("50-100 %")),
        Region { rpm: Some((9000.0, 12000.0)), throttle: Some((50.0, 100.0)) }
    );
    assert_eq!(read(None, None), Region::ALL);
    for typed in ["", "-", "9000-", "-9000", "9000-10000-11000", "9,000", "fast", "50 %", "nan"] {
        let error = Region::parse(Some(typed), None).unwrap_err();
        assert!(matches!(error, ShapeError::NotASpan { axis: MapAxis::EngineSpeed, .. }), "{typed}: {error}");
    }
    says(
        &Region::parse(Some("quick"), None).unwrap_err(),
        "\"quick\" is not a part of the engine speeds.",
        "Write two engine speeds like 9000-12000, or one like 9500.",
    );
    says(
        &Region::parse(None, Some("100-50")).unwrap_err(),
        "The part from 100 to 50 % throttle runs backwards.",
        "Write the lower throttle opening first: 50-100.",
    );
}

#[test]
fn a_part_is_said_in_words() {
    let said = |rpm, throttle| Region { rpm, throttle }.to_string();
    assert_eq!(
        said(Some((9000.0, 10500.0)), Some((50.0, 50.0))),
        "from 9,000 to 10,500 rpm at 50 % throttle"
    );
    assert_eq!(said(Some((950.0, 950.0)), None), "at 950 rpm");
    assert_eq!(said(None, None), "");
}

#[test]
fn only_the_part_is_shifted_or_scaled() {
    let later = shifted(&invented(), &speeds(8000.0, 9000.0), -1.5).unwrap();
    assert_eq!(later.rows, [[24.0, 26.0, 19.0, 16.5, 12.0]]);
    assert_eq!((later.unit.as_str(), later.file.as_deref()), ("deg", Some("maps/wet.csv")));
    let open = Region { rpm: Some((8000.0, 9000.0)), throttle: Some((50.0, 100.0)) };
    let less = scaled(&deep(), &open, 0.5).unwrap();
    assert_eq!(less.rows, [[20.0, 18.0, 16.0], [24.0, 12.5, 9.5], [22.0, 10.0, 8.5]]);
    let all = shifted(&deep(), &Region::ALL, 1.0).unwrap();
    assert_eq!(all.rows[2], [23.0, 21.0, 18.0]);
}

#[test]
fn a_part_without_a_cell_is_refused_with_the_reach_of_the_axis() {
    says(
        &shifted(&invented(), &speeds(9100.0, 9400.0), 1.0).unwrap_err(),
        "The map has no engine speed from 9,100 to 9,400 rpm.",
        "Its engine speeds run from 4,000 to 12,000 rpm; next to it are 9,000 and 12,000.",
    );
    says(
        &scaled(&invented(), &speeds(13000.0, 14000.0), 1.1).unwrap_err(),
        "The map has no engine speed from 13,000 to 14,000 rpm.",
        "Its engine speeds run from 4,000 to 12,000 rpm.",
    );
    let quarter = Region { rpm: None, throttle: Some((25.0, 25.0)) };
    says(
        &shifted(&deep(), &quarter, 1.0).unwrap_err(),
        "The map has no throttle opening at 25 % throttle.",
        "Its throttle openings run from 0 to 100 % throttle; next to it are 0 and 50.",
    );
    says(
        &shifted(&invented(), &quarter, 1.0).unwrap_err(),
        "The map runs over engine speed alone, so there is no part of the throttle to choose.",
        "Leave the throttle out.",
    );
    assert!(matches!(
        shifted(&deep(), &speeds(9000.0, 4000.0), 1.0),
        Err(ShapeError::Backwards { axis: MapAxis::EngineSpeed, .. })
    ));
    assert!(matches!(rounded(&deep(), &quarter, Rounding::Decimals(0)), Err(ShapeError::NoCell { .. })));
    assert!(matches!(smoothed(&deep(), &quarter, Smoothing::default()), Err(ShapeError::NoCell { .. })));
}

#[test]
fn numbers_that_shape_nothing_are_refused() {
    for factor in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let error = scaled(&invented(), &Region::ALL, factor).unwrap_err();
        assert!(matches!(error, ShapeError::BadFactor { .. }), "{factor}");
    }
    for by in [f64::NAN, f64::NEG_INFINITY] {
        assert!(matches!(shifted(&invented(), &Region::ALL, by), Err(ShapeError::BadShift { .. })));
    }
    for share in [0.0, -0.5, 1.01, f64::NAN] {
        let how = Smoothing { share, ..Smoothing::default() };
        assert!(matches!(smoothed(&invented(), &Region::ALL, how), Err(ShapeError::BadShare { .. })));
    }
    for passes in [0, 101] {
        let how = Smoothing { passes, ..Smoothing::default() };
        assert!(matches!(smoothed(&invented(), &Region::ALL, how), Err(ShapeError::BadPasses { .. })));
    }
    for step in [0.0, -0.5, f64::NAN] {
        let error = rounded(&invented(), &Region::ALL, Rounding::Step(step)).unwrap_err();
        assert!(matches!(error, ShapeError::BadStep { .. }), "{step}");
    }
}

#[test]
fn smoothing_weighs_uneven_breakpoints_as_they_lie() {
    // 20.5 at 8000 lies between 26 at 6000 and 18 at 9000: the line there is 26 - 8 x 2000/3000 = 20.667.
    let how = Smoothing { share: 1.0, ..Smoothing::default() };
    let smooth = smoothed(&invented(), &speeds(8000.0, 8000.0), how).unwrap();
    assert!((smooth.rows[0][2] - (26.0 - 16.0 / 3.0)).abs() < 1e-12);
    assert_eq!(smooth.rows[0][..2], [24.0, 26.0], "a neighbour outside the part does not move");
    // 26 at 6000: line 24 + (20.5 - 24) / 2 = 22.25, half of the way 24.125. All of a pass come from the map before it.
    let smooth = smoothed(&invented(), &Region::ALL, Smoothing::default()).unwrap();
    assert!((smooth.rows[0][1] - 24.125).abs() < 1e-12);
    assert!((smooth.rows[0][2] - f64::midpoint(20.5, 26.0 - 16.0 / 3.0)).abs() < 1e-12);
    assert_eq!((smooth.rows[0][0], smooth.rows[0][4]), (24.0, 12.0), "the ends stay");
    let twice = smoothed(&smooth, &Region::ALL, Smoothing::default()).unwrap();
    let in_one_go =
        smoothed(&invented(), &Region::ALL, Smoothing { passes: 2, ..Smoothing::default() }).unwrap();
    assert_eq!(twice, in_one_go);
}

#[test]
fn smoothing_goes_along_the_axes_that_are_asked_for() {
    let all_the_way =
        |along| smoothed(&deep(), &Region::ALL, Smoothing { along, share: 1.0, passes: 1 }).unwrap().rows;
    let near = |rows: Vec<Vec<f64>>, wanted: [[f64; 3]; 3]| {
        let pairs = rows.iter().flatten().zip(wanted.iter().flatten());
        assert!(pairs.clone().all(|(a, b)| (a - b).abs() < 1e-12), "{rows:?} is not {wanted:?}");
    };
    // 8000 lies 4/5 of the way from 4000 to 9000, 50 midway between 0 and 100.
    near(all_the_way(Along::EngineSpeed), [[20.0, 16.8, 16.0], [24.0, 20.0, 19.0], [22.0, 18.0, 17.0]]);
    near(all_the_way(Along::Throttle), [[20.0, 18.0, 16.0], [21.0, 19.0, 16.5], [22.0, 20.0, 17.0]]);
    near(all_the_way(Along::Both), [[20.0, 18.0, 16.0], [24.0, 19.5, 19.0], [22.0, 20.0, 17.0]]);
}

#[test]
fn what_cannot_be_smoothed_says_so() {
    says(
        &smoothed(&invented(), &speeds(12000.0, 12000.0), Smoothing::default()).unwrap_err(),
        "Every cell of that part lies at the edge of the map, with no neighbours to be smoothed between.",
        "Choose a part with cells inside the map; smoothed along the engine speeds alone, only the first and the last one stay.",
    );
    let both = Smoothing { along: Along::Both, ..Smoothing::default() };
    assert_eq!(smoothed(&invented(), &Region::ALL, both), Err(ShapeError::NoThrottle));
    let shut = Region { rpm: None, throttle: Some((0.0, 0.0)) };
    assert_eq!(smoothed(&deep(), &shut, both), Err(ShapeError::NothingBetween));
}

#[test]
fn neighbours_merge_into_one_on_the_curve() {
    let one = merged(&invented(), &[9000.0, 8000.0], None).unwrap();
    assert_eq!(one.rpm, [4000.0, 6000.0, 8500.0, 12000.0]);
    assert_eq!(one.rows, [[24.0, 26.0, 19.25, 12.0]], "midway, the mean of both");
    assert_eq!(one.file.as_deref(), Some("maps/wet.csv"));
    let given = merged(&invented(), &[8000.0, 9000.0], Some(8400.0)).unwrap();
    assert_eq!((given.rpm[2], given.rows[0][2]), (8400.0, 19.5));
    let three = merged(&invented(), &[6000.0, 8000.0, 9000.0], None).unwrap();
    assert_eq!(three.rpm, [4000.0, 23_000.0 / 3.0, 12000.0]);
    assert!((three.rows[0][1] - (26.0 - 5.5 * (5000.0 / 3.0) / 2000.0)).abs() < 1e-12);
    let rows = merged(&deep(), &[8000.0, 4000.0], Some(6000.0)).unwrap();
    assert_eq!(rows.rows, [[19.0, 16.0], [24.5, 19.0], [21.0, 17.0]]);
}

#[test]
fn the_end_of_a_map_stays_where_it_is_unless_another_place_is_given() {
    let first = merged(&invented(), &[4000.0, 6000.0], None).unwrap();
    assert_eq!((first.rpm[0], first.rows[0][0], first.rpm.len()), (4000.0, 24.0, 4));
    let last = merged(&invented(), &[9000.0, 12000.0], None).unwrap();
    assert_eq!((last.rpm[3], last.rows[0][3]), (12000.0, 12.0));
    let given = merged(&invented(), &[9000.0, 12000.0], Some(11000.0)).unwrap();
    assert_eq!((given.rpm[3], given.rows[0][3]), (11000.0, 14.0));
}

#[test]
fn engine_speeds_are_taken_out() {
    let fewer = dropped(&invented(), &[6000.0, 9000.0, 6000.0]).unwrap();
    assert_eq!(fewer.rpm, [4000.0, 8000.0, 12000.0]);
    assert_eq!(fewer.rows, [[24.0, 20.5, 12.0]]);
    assert_eq!(dropped(&deep(), &[4000.0]).unwrap().rows[1], [25.0, 19.0]);
}

#[test]
fn columns_that_cannot_go_are_refused() {
    says(
        &dropped(&deep(), &[8500.0]).unwrap_err(),
        "The map has no breakpoint at 8,500 rpm.",
        "Its engine speeds are 4000, 8000 and 9000 rpm.",
    );
    says(
        &dropped(&deep(), &[4000.0, 8000.0]).unwrap_err(),
        "The map would have 1 engine speeds left, and a map needs at least two.",
        "Name fewer of them.",
    );
    assert_eq!(merged(&deep(), &[4000.0, 8000.0, 9000.0], None), Err(ShapeError::TooFewColumns { left: 1 }));
    assert_eq!(merged(&deep(), &[8000.0, 8000.0], None), Err(ShapeError::OneColumn));
    says(
        &merged(&invented(), &[4000.0, 9000.0], None).unwrap_err(),
        "4,000 and 9,000 rpm are not neighbours; between them: 6000 and 8000.",
        "Name those between as well, or merge neighbours one pair after the other.",
    );
    says(
        &merged(&invented(), &[8000.0, 9000.0], Some(9500.0)).unwrap_err(),
        "9,500 rpm does not lie between 8,000 and 9,000 rpm.",
        "Choose an engine speed among those that are merged.",
    );
    assert!(matches!(
        merged(&invented(), &[8000.0, 9000.0], Some(f64::NAN)),
        Err(ShapeError::Outside { .. })
    ));
}

#[test]
fn cells_are_rounded_so_that_a_file_stays_readable() {
    let rough = curve(&[1.0, 2.0, 3.0, 4.0], &[18.25, -0.25, 19.249_999_999_999, 1.005]);
    let to = |rounding| rounded(&rough, &Region::ALL, rounding).unwrap().rows[0].clone();
    assert_eq!(to(Rounding::Decimals(1)), [18.3, -0.3, 19.3, 1.0]);
    assert_eq!(to(Rounding::Decimals(0)), [18.0, 0.0, 19.0, 1.0]);
    assert_eq!(to(Rounding::Decimals(2))[3..], [1.01]);
    assert_eq!(to(Rounding::Step(0.5)), [18.5, -0.5, 19.5, 1.0]);
    assert_eq!(to(Rounding::Step(0.1)), [18.3, -0.3, 19.3, 1.0]);
    let part = rounded(&rough, &speeds(1.0, 1.0), Rounding::Decimals(0)).unwrap();
    assert_eq!(part.rows[0], [18.0, -0.25, 19.249_999_999_999, 1.005]);
    assert_eq!((decimals_of(&invented()), decimals_of(&deep())), (1, 0));
    assert_eq!([20.0, 0.25, -1.5, 1.0 / 3.0].map(decimals_needed), [0, 2, 1, 3]);
}

#[test]
fn a_map_is_held_against_the_limits_that_are_given() {
    let limits = MapLimits {
        largest_gap_rpm: Some(2000.0),
        steepest_per_1000_rpm: Some(2.5),
        highest: Some(25.0),
        ..MapLimits::default()
    };
    let found = check(&invented(), &limits).unwrap();
    assert_eq!(found.not_checked, ["lowest cells"]);
    let sentences: Vec<_> = found.remarks.iter().map(|remark| remark.sentence.as_str()).collect();
    assert_eq!(
        sentences,
        [
            "From 9,000 to 12,000 rpm there is no engine speed: 3,000 rpm, and the limit is 2,000.",
            "The map falls by 2.75 degrees per 1000 rpm from 6,000 to 8,000 rpm; the limit is 2.5 degrees.",
            "The cell at 6,000 rpm is 26 degrees, above the limit of 25 degrees.",
        ]
    );
    assert_eq!(found.remarks[1].kind, RemarkKind::SteepOverSpeed);
    assert_eq!((found.remarks[1].place, found.remarks[1].found), (speeds(6000.0, 8000.0), 2.75));
    let nothing = check(&deep(), &MapLimits::default()).unwrap();
    assert!(nothing.remarks.is_empty());
    assert_eq!(
        nothing.not_checked,
        [
            "gaps between engine speeds",
            "steps over engine speed",
            "steps over the throttle",
            "highest cells",
            "lowest cells"
        ]
    );
}

#[test]
fn steps_over_the_throttle_and_cells_with_a_base() {
    let limits = MapLimits {
        steepest_per_10_percent: Some(1.0),
        highest: Some(38.0),
        lowest: Some(31.5),
        added: 15.0,
        ..MapLimits::default()
    };
    let found = check(&deep(), &limits).unwrap();
    let sentences: Vec<_> = found.remarks.iter().map(|remark| remark.sentence.as_str()).collect();
    assert_eq!(
        sentences,
        [
            "The map rises by 1.4 degrees per 10 % throttle at 8,000 rpm from 0 to 50 % throttle; the limit is 1 degree.",
            "The highest cell from 4,000 to 8,000 rpm at 50 % throttle is 40 degrees (25 in the map and 15 of base), above the limit of 38 degrees.",
            "The cell at 9,000 rpm at 0 % throttle is 31 degrees (16 in the map and 15 of base), below the limit of 31.5 degrees.",
        ]
    );
}

#[test]
fn a_map_in_hand_need_not_be_sound() {
    let mut odd = over_throttle(
        &[4000.0, 8000.0, 8000.0],
        &[50.0, 20.0],
        &[&[20.0, 18.0, 30.0], &[20.0, 18.0], &[0.0, 0.0, 0.0]],
    );
    let steep = MapLimits {
        largest_gap_rpm: Some(4000.0),
        steepest_per_1000_rpm: Some(1.0),
        steepest_per_10_percent: Some(1.0),
        ..MapLimits::default()
    };
    let kinds: Vec<_> = check(&odd, &steep).unwrap().remarks.iter().map(|remark| remark.kind).collect();
    assert_eq!(kinds, [RemarkKind::Order, RemarkKind::Order, RemarkKind::Ragged, RemarkKind::Ragged]);
    odd = curve(&[4000.0], &[20.0]);
    let found = check(&odd, &steep).unwrap();
    assert_eq!(found.remarks[0].kind, RemarkKind::SinglePoint);
    assert_eq!(found.remarks[0].sentence, "The map has one engine speed, and a curve needs two.");
    assert_eq!(check(&curve(&[], &[]), &steep).unwrap().remarks[0].kind, RemarkKind::SinglePoint);
}

#[test]
fn a_limit_that_nothing_can_keep_is_refused() {
    let gap = |limit| MapLimits { largest_gap_rpm: Some(limit), ..MapLimits::default() };
    for limit in [0.0, -1.0, f64::NAN] {
        assert!(matches!(check(&deep(), &gap(limit)), Err(ShapeError::BadLimit { .. })), "{limit}");
    }
    let highest = MapLimits { highest: Some(f64::NAN), ..MapLimits::default() };
    says(
        &check(&deep(), &highest).unwrap_err(),
        "The limit on highest cells cannot be NaN.",
        "Give a number; a gap and a step are above 0.",
    );
}

/// An axis of uneven breakpoints from a first one on.
fn axis(count: std::ops::Range<usize>, gap: std::ops::Range<u32>) -> impl Strategy<Value = Vec<f64>> {
    vec(gap, count).prop_map(|gaps| {
        let mut at = 0.0;
        gaps.into_iter()
            .map(|gap| {
                at += f64::from(gap);
                at
            })
            .collect()
    })
}

prop_compose! {
    fn any_map()(rpm in axis(3..9, 50..3000), throttle in axis(0..6, 1..18))
        (cells in vec(vec(-100..700i32, rpm.len()), throttle.len().max(1)), rpm in Just(rpm), throttle in Just(throttle))
        -> MapTable {
        let tenths = |cells: Vec<i32>| cells.into_iter().map(|cell| f64::from(cell) / 10.0).collect();
        let rows = cells.into_iter().map(tenths).collect();
        MapTable { rpm, throttle, rows, unit: "deg".into(), file: None }
    }
}

/// A part of a map by two of its engine speeds, and two of its openings where it has any.
fn some_part(map: &MapTable, picks: [usize; 4]) -> Region {
    let span = |axis: &[f64], a: usize, b: usize| {
        let (a, b) = (axis.get(a % axis.len().max(1))?, axis.get(b % axis.len().max(1))?);
        Some((a.min(*b), a.max(*b)))
    };
    Region { rpm: span(&map.rpm, picks[0], picks[1]), throttle: span(&map.throttle, picks[2], picks[3]) }
}

fn outside_stays(before: &MapTable, after: &MapTable, part: &Region) -> bool {
    let stays = |((place, a), (_, b)): ((CellPlace, f64), (CellPlace, f64))| {
        part.contains(place) || a.to_bits() == b.to_bits()
    };
    before.cells().count() == after.cells().count() && before.cells().zip(after.cells()).all(stays)
}

proptest! {
    #[test]
    fn shifted_there_and_back_is_the_map(map in any_map(), picks in any::<[usize; 4]>(), by in -30.0..30.0f64) {
        let part = some_part(&map, picks);
        let there = shifted(&map, &part, by).unwrap();
        prop_assert!(outside_stays(&map, &there, &part));
        let back = rounded(&shifted(&there, &part, -by).unwrap(), &part, Rounding::Decimals(1)).unwrap();
        prop_assert_eq!(back, map);
    }

    #[test]
    fn scaled_there_and_back_is_the_map(map in any_map(), picks in any::<[usize; 4]>(), factor in 0.2..5.0f64) {
        let part = some_part(&map, picks);
        let there = scaled(&map, &part, factor).unwrap();
        prop_assert!(outside_stays(&map, &there, &part));
        let back = scaled(&there, &part, 1.0 / factor).unwrap();
        prop_assert_eq!(rounded(&back, &part, Rounding::Decimals(1)).unwrap(), map);
    }

    #[test]
    fn smoothing_keeps_lines_and_planes(
        map in any_map(), over_speed in -0.01..0.01f64, over_throttle in -0.5..0.5f64, start in -10.0..30.0f64,
        share in 0.01..1.0f64, passes in 1..20usize,
    ) {
        let mut plane = map;
        for (row, cells) in plane.rows.iter_mut().enumerate() {
            let throttle = plane.throttle.get(row).copied().unwrap_or(0.0);
            for (rpm, cell) in plane.rpm.iter().zip(cells) {
                *cell = start + over_speed * rpm + over_throttle * throttle;
            }
        }
        let ways: &[Along] = match plane.throttle.len() {
            0..=2 => &[Along::EngineSpeed],
            _ => &[Along::EngineSpeed, Along::Throttle, Along::Both],
        };
        for along in ways {
            let how = Smoothing { along: *along, share, passes };
            prop_assert_eq!(&smoothed(&plane, &Region::ALL, how).unwrap(), &plane, "{:?}", along);
        }
    }

    #[test]
    fn smoothing_stays_within_the_cells_and_keeps_the_ends(
        map in any_map(), share in 0.01..=1.0f64, passes in 1..8usize,
    ) {
        let smooth = smoothed(&map, &Region::ALL, Smoothing { share, passes, ..Smoothing::default() }).unwrap();
        for (before, after) in map.rows.iter().zip(&smooth.rows) {
            let low = before.iter().copied().fold(f64::INFINITY, f64::min) - 1e-9;
            let high = before.iter().copied().fold(f64::NEG_INFINITY, f64::max) + 1e-9;
            prop_assert!(after.iter().all(|cell| (low..=high).contains(cell)));
            prop_assert_eq!((before.first(), before.last()), (after.first(), after.last()));
        }
    }

    #[test]
    fn merging_keeps_the_ends_and_lies_on_the_old_curve(map in any_map(), pick in any::<usize>()) {
        let at = pick % (map.rpm.len() - 1);
        let one = merged(&map, &map.rpm[at..=at + 1], None).unwrap();
        prop_assert_eq!(one.rpm.len(), map.rpm.len() - 1);
        prop_assert!(one.rpm.windows(2).all(|pair| pair[0] < pair[1]));
        prop_assert_eq!((one.rpm.first(), one.rpm.last()), (map.rpm.first(), map.rpm.last()));
        for (place, cell) in one.cells() {
            let before = map.value_at(place.rpm, place.throttle.unwrap_or(0.0)).unwrap();
            prop_assert!((cell - before).abs() < 1e-9, "{} {} {}", place, cell, before);
        }
    }

    #[test]
    fn rounding_moves_no_cell_farther_than_half_a_step(map in any_map(), step in 0.05..3.0f64) {
        let near = rounded(&map, &Region::ALL, Rounding::Step(step)).unwrap();
        for ((_, before), (_, after)) in map.cells().zip(near.cells()) {
            prop_assert!((before - after).abs() <= step / 2.0 + 1e-5);
        }
        prop_assert_eq!(&rounded(&map, &Region::ALL, Rounding::Decimals(1)).unwrap(), &map);
    }
}
