//! Rows as they are seen.

use super::*;

fn row(label: &str, reach: WorkingSpan) -> Span {
    Span { label: label.into(), reach, note: String::new() }
}

/// A drawing begins on a line of its own in a test.
fn seen(text: &str) -> &str {
    text.strip_prefix('\n').unwrap_or(text)
}

fn parts() -> Vec<Span> {
    vec![
        row("pipe", WorkingSpan::At(11_670.0)),
        row("transfers", WorkingSpan::Between(12_600.0, 15_800.0)),
        row("exhaust", WorkingSpan::Between(11_000.0, 12_400.0)),
        row("retard", WorkingSpan::From(9000.0)),
        row("reeds", WorkingSpan::UpTo(13_000.0)),
        Span {
            label: "boost port".into(),
            reach: WorkingSpan::NotKnown,
            note: "no height in the engine file.".into(),
        },
    ]
}

#[test]
fn parts_stand_under_one_axis_with_an_upright_through_all() {
    assert_eq!(
        spans("rpm", &parts(), Some((11_670.0, "pipe")), None, 72),
        seen(
            "
                 10,000    12,000    14,000    16,000   rpm
pipe                .       O .         .         .     11,670
transfers           .       : .  [===============].     12,600 to 15,800
exhaust             .    [==:===]       .         .     11,000 to 12,400
retard         [============:========================>  from 9,000
reeds       <===============:======]    .         .     up to 13,000
boost port          .       : .         .         .     not known
                            : pipe
boost port: no height in the engine file."
        )
    );
}

#[test]
fn on_a_narrow_page_the_words_stand_above_their_row() {
    let few: Vec<Span> = parts().into_iter().take(2).collect();
    assert_eq!(
        spans("rpm", &few, Some((11_670.0, "pipe")), None, 40),
        seen(
            "
rpm
     12,000       14,000       16,000
pipe  11,670
      O .            .            .
transfers  12,600 to 15,800
      : .   [====================].
      : pipe"
        )
    );
}

#[test]
fn nothing_known_needs_no_axis() {
    let last: Vec<Span> = parts().into_iter().skip(5).collect();
    assert_eq!(
        spans("rpm", &last, None, None, 72),
        "boost port  not known\nboost port: no height in the engine file."
    );
    assert_eq!(spans("rpm", &[], None, None, 72), "");
}

#[test]
fn what_cannot_be_drawn_is_not_known_and_turned_ends_are_put_right() {
    let rows = [
        row("a", WorkingSpan::Between(f64::NAN, 9000.0)),
        row("b", WorkingSpan::From(f64::INFINITY)),
        row("c", WorkingSpan::Between(9000.0, 8000.0)),
    ];
    let text = spans("rpm", &rows, Some((f64::NAN, "nowhere")), None, 80);
    let ends: Vec<&str> = text.lines().skip(1).map(|line| line.rsplit("  ").next().unwrap()).collect();
    assert_eq!(ends, ["not known", "not known", "8,000 to 9,000"], "{text}");
    assert!(!text.contains(':'), "{text}");
}

#[test]
fn a_mark_on_the_upright_stands_in_its_column_at_any_width() {
    for width in 40..=100 {
        let text = spans("rpm", &parts(), Some((11_670.0, "pipe")), None, width);
        let circle = text.lines().find_map(|line| line.find('O')).unwrap();
        let foot = text.lines().find(|line| line.trim_start() == ": pipe").unwrap();
        assert_eq!(foot.find(':'), Some(circle), "{text}");
        for line in text.lines() {
            assert!(line.len() <= width && line.is_ascii() && line.trim_end() == line, "{width}: {line:?}");
        }
    }
}

#[test]
fn a_bar_lies_over_the_upright_only_if_it_holds_that_speed() {
    let over = |reach| {
        spans("rpm", &[row("part", reach)], Some((10_000.0, "pipe")), None, 80)
            .lines()
            .nth(1)
            .unwrap()
            .to_owned()
    };
    assert!(over(WorkingSpan::Between(9000.0, 11_000.0)).contains("=:="));
    assert!(over(WorkingSpan::From(9000.0)).contains("=:="));
    assert!(over(WorkingSpan::UpTo(11_000.0)).contains("=:="));
    assert!(!over(WorkingSpan::Between(10_500.0, 11_000.0)).contains("=:"));
    assert!(!over(WorkingSpan::UpTo(9500.0)).contains(":="));
}

#[test]
fn a_lone_open_reach_has_a_piece_to_be_drawn_on() {
    for reach in [
        WorkingSpan::From(7000.0),
        WorkingSpan::UpTo(7000.0),
        WorkingSpan::From(0.0),
        WorkingSpan::From(-5.0),
        WorkingSpan::UpTo(-5.0),
    ] {
        let text = spans("rpm", &[row("part", reach)], None, None, 80);
        assert!(text.contains("==") && (text.contains('>') || text.contains('<')), "{text}");
    }
    // Nothing turns slower than not at all: an end, but no bar.
    let text = spans("rpm", &[row("part", WorkingSpan::UpTo(0.0))], None, None, 80);
    assert!(text.contains("part  <  ") && !text.contains('='), "{text}");
}

#[test]
fn no_dot_stands_right_beside_the_upright() {
    for upright in 0..100_u16 {
        let at = 10_000.0 + f64::from(upright) * 40.0;
        let text = spans("rpm", &parts(), Some((at, "pipe")), None, 80);
        let last = text.lines().find(|line| line.starts_with("boost port")).unwrap();
        assert!(last.contains(':') && !last.contains(".:") && !last.contains(":."), "{text}");
    }
}

#[test]
fn of_a_window_only_what_lies_in_it_is_drawn() {
    let drawn = |reach| {
        let text = spans("rpm", &[row("part", reach)], None, Some((6_000.0, 16_000.0)), 80);
        text.lines().nth(1).unwrap().chars().filter(|c| "<>[]=O".contains(*c)).collect::<String>()
    };
    let between = drawn(WorkingSpan::Between(3_000.0, 21_000.0));
    assert!(between.starts_with('<') && between.ends_with('>'), "{between}");
    assert_eq!(drawn(WorkingSpan::Between(17_000.0, 21_000.0)), ">");
    assert_eq!(drawn(WorkingSpan::At(4_000.0)), "<");
    let inside = drawn(WorkingSpan::Between(7_000.0, 9_000.0));
    assert!(inside.starts_with('[') && inside.ends_with(']'), "{inside}");
}
