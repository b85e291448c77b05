//! Drawings as they are seen.

use super::*;

fn curve(mark: char, name: &str, points: &[(f64, f64)]) -> Curve {
    Curve { mark, name: name.into(), points: points.to_vec() }
}

fn plot(curves: Vec<Curve>) -> Plot<'static> {
    Plot { x_name: "degrees", y_name: "area, mm2", curves, uprights: Vec::new() }
}

/// A drawing begins on a line of its own in a test.
fn seen(text: &str) -> &str {
    text.strip_prefix('\n').unwrap_or(text)
}

#[test]
fn a_straight_line_rises_evenly_between_round_figures() {
    let drawing = plot(vec![curve('o', "now", &[(0.0, 0.0), (30.0, 2000.0)])]).text(40, 9);
    assert_eq!(
        drawing,
        seen(
            "
area, mm2
2,000 +          .          .        oo
      |                          oooo
1,500 +          .          .oooo     .
      |                  oooo
1,000 +          .   oooo   .         .
      |          oooo
  500 +      oooo.          .         .
      |  oooo
    0 +oo        .          .         .
      ++---------+----------+---------+
       0        10         20        30
       degrees
       o now"
        )
    );
}

#[test]
fn a_cell_of_two_curves_is_marked_and_explained() {
    let now = curve('o', "now", &[(0.0, 0.0), (10.0, 4.0), (20.0, 0.0)]);
    let other = curve('x', "setup 12", &[(0.0, 0.0), (10.0, 4.0), (20.0, 4.0)]);
    assert_eq!(
        plot(vec![now, other]).text(40, 5),
        seen(
            "
area, mm2
4 +         .      ####xxxxxxxxxxxxxxxx
  |           #####    ooooo
2 +       ####       .      oooo      .
  |   ####                      oooo
0 +###      .        .       .      ooo
  ++--------+--------+-------+--------+
   0        5       10      15       20
   degrees
   o now   x setup 12   # both"
        )
    );
}

#[test]
fn a_step_is_joined() {
    let step = curve('o', "now", &[(0.0, 1.0), (10.0, 1.0), (10.0, 3.0), (20.0, 3.0)]);
    assert_eq!(
        plot(vec![step]).text(40, 5),
        seen(
            "
area, mm2
3 +         .       ooooooooooooooooooo
  |                 o
2 +         .       o.       .        .
  |                 o
1 +oooooooooooooooooo.       .        .
  ++--------+--------+-------+--------+
   0        5       10      15       20
   degrees
   o now"
        )
    );
}

#[test]
fn a_steep_part_has_no_hole() {
    let steep = curve('o', "now", &[(0.0, 0.0), (9.0, 0.0), (11.0, 50.0), (13.0, 0.0), (20.0, 0.0)]);
    let drawing = plot(vec![steep]).text(40, 21);
    let rows: Vec<Vec<usize>> = drawing
        .lines()
        .skip(1)
        .take_while(|line| !line.contains("++"))
        .map(|line| line.match_indices('o').map(|(column, _)| column).collect())
        .collect();
    assert_eq!(rows.len(), 21);
    // Each mark above the lowest row stands on another, straight below or beside it.
    for (above, below) in rows.iter().zip(rows.iter().skip(1)) {
        assert!(!above.is_empty(), "{drawing}");
        assert!(
            above.iter().all(|column| below.iter().any(|other| other.abs_diff(*column) <= 1)),
            "{drawing}"
        );
    }
}

#[test]
fn what_is_not_a_number_leaves_a_gap_and_an_empty_curve_is_said() {
    let gap = curve('o', "now", &[(0.0, 1.0), (8.0, 1.0), (9.0, f64::NAN), (12.0, 2.0), (20.0, 2.0)]);
    assert_eq!(
        plot(vec![gap, curve('x', "setup 12", &[])]).text(40, 5),
        seen(
            "
area, mm2
2.0 +        .        .  oooooooooooooo
    |
1.5 +        .        .       .       .
    |
1.0 +oooooooooooooo   .       .       .
    ++-------+--------+-------+-------+
     0       5       10      15      20
     degrees
     o now   x setup 12: not known"
        )
    );
}

#[test]
fn zero_has_a_line_where_something_is_below_it() {
    let drawing = plot(vec![curve('o', "now", &[(0.0, -1.0), (20.0, 1.0)])]).text(40, 5);
    assert_eq!(
        drawing,
        seen(
            "
area, mm2
 1 +         .       .        .   ooooo
   |                      oooooooo
 0 +-------------ooooooooo-------------
   |     oooooooo
-1 +ooooo    .       .        .       .
   ++--------+-------+--------+-------+
    0        5      10       15      20
    degrees
    o now"
        )
    );
}

#[test]
fn uprights_are_named_below_and_a_far_one_is_only_told() {
    let mut drawn = plot(vec![curve('o', "now", &[(6000.0, 1.0), (12_000.0, 2.0)])]);
    drawn.uprights = vec![(7000.0, "one".into()), (11_000.0, "another".into()), (90_000.0, "limit".into())];
    assert_eq!(
        drawn.text(40, 5),
        seen(
            "
area, mm2
2.0 +      :    .          .     :ooooo
    |      :              oooooooo
1.5 +      :    . oooooooo .     :    .
    |     oooooooo               :
1.0 +ooooo :    .          .     :    .
    ++-----:----+----------+-----:----+
   6,000      8,000     10,000    12,000
           :             another :
           : one
     degrees
     o now
     further right, at 90,000: limit"
        )
    );
}

#[test]
fn a_peak_narrower_than_a_column_is_not_lost() {
    let peak = [(0.0, 0.0), (51.0, 0.0), (51.1, 9.0), (51.2, 0.0), (100.0, 0.0)];
    let drawing = plot(vec![curve('o', "now", &peak)]).text(40, 11);
    // 9 on a scale to 10 in steps of 2: the row below the top.
    let row = drawing.lines().nth(2).unwrap();
    assert!(row.contains('o'), "{drawing}");
}

#[test]
fn nothing_to_draw_is_said() {
    let nothing = "area, mm2: no points to draw.";
    assert_eq!(plot(vec![]).text(80, 10), nothing);
    assert_eq!(plot(vec![curve('o', "now", &[(f64::NAN, 1.0), (1.0, f64::INFINITY)])]).text(80, 10), nothing);
}

#[test]
fn huge_and_tiny_figures_are_in_powers_of_ten() {
    let tiny = plot(vec![curve('o', "now", &[(0.0, 1e-9), (1.0, 5e-9)])]).text(60, 9);
    assert!(tiny.starts_with("area, mm2 (figures times 10^-9)\n5 +"), "{tiny}");
    let huge = plot(vec![curve('o', "now", &[(0.0, 0.0), (1.0, 4e12)])]).text(60, 9);
    assert!(huge.starts_with("area, mm2 (figures times 10^12)\n4 +"), "{huge}");
}

#[test]
fn whatever_the_points_the_drawing_keeps_to_its_page() {
    let hard: [&[(f64, f64)]; 9] = [
        &[(1.0, 5.0)],
        &[(0.0, 0.0), (1.0, 0.0)],
        &[(-3.0, -7.0), (4.0, -7.0)],
        &[(0.0, 1e300), (1.0, 2.0)],
        &[(0.0, 1e29), (1.0, -1e29)],
        &[(0.0, 1e-300), (1e-300, 0.0)],
        &[(5.0, 1.0), (4.0, 2.0), (3.0, 1.0)],
        &[(1e9, 1.0), (1e9 + 1.0, 1.000_000_001)],
        &[(0.0, 12_345.678), (0.001, 12_345.679)],
    ];
    for points in hard {
        for (width, height) in [(40, 5), (40, 13), (80, 20), (100, 40), (10, 1)] {
            let mut drawn = plot(vec![curve('o', "now", points), curve('x', "setup 12", points)]);
            drawn.uprights =
                vec![(0.5, "a name that is longer than the narrow page is wide, so it is cut".into())];
            let text = drawn.text(width, height);
            assert!(text.contains('#'), "{text}");
            for line in text.lines() {
                assert!(line.len() <= width.max(NARROWEST), "{width}: {line}");
                assert!(line.is_ascii() && line.trim_end() == line, "{line:?}");
            }
        }
    }
}

#[test]
fn round_figures_stand_on_their_own_rows_and_read_as_they_are() {
    let y = Scale::upwards([0.0, 812.0].into_iter(), 16).unwrap();
    let labels: Vec<_> = y.ticks().into_iter().map(|tick| (tick.cell, tick.label)).collect();
    let expected = [(0, "0"), (3, "200"), (6, "400"), (9, "600"), (12, "800"), (15, "1,000")];
    assert_eq!(labels, expected.map(|(cell, label)| (cell, label.to_owned())));
    let x = Scale::across([0.0, 1.0].into_iter(), 41).unwrap();
    let labels: Vec<_> = x.ticks().into_iter().map(|tick| tick.label).collect();
    assert_eq!(labels, ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]);
}

#[test]
fn a_name_crosses_no_other_upright_where_it_can_be_avoided() {
    let names = upright_names(&[(25, "the first"), (30, "the second")], 40);
    assert_eq!(names, ["               the first :    :", "                   the second :"]);
    assert_eq!(upright_names(&[(5, "a"), (20, "b")], 40), ["     :              : b", "     : a"]);
    assert_eq!(upright_names(&[(5, "far too long a name")], 12), [": far too..."]);
}
