//! Every kind of document that the program writes to, as a person may have left it: with a byte order mark, CRLF line ends, comments
//! before, beside and after, blank lines and odd spacing. Only what was asked for changes.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use crate::common;

use std::fs;

use common::{Shed, setup_file};
use similar::{ChangeTag, TextDiff};

/// The file as a person might have left it.
fn by_hand(text: &str) -> String {
    let mut lines = vec!["# written by hand".to_owned(), String::new()];
    for line in text.lines().filter(|line| !line.trim().is_empty() && !line.starts_with('#')) {
        if line.starts_with('[') {
            lines.extend([
                String::new(),
                String::new(),
                "  # over a heading".to_owned(),
                line.to_owned() + "   # at it",
            ]);
        } else {
            let (name, value) = line.split_once('=').unwrap();
            let (name, value) = (name.trim(), value.split(" #").next().unwrap().trim());
            lines.extend([format!("# before {name}"), format!("{name}   =\t{value}  # beside {name}")]);
        }
    }
    lines.extend([String::new(), "# the end".to_owned(), String::new()]);
    format!("\u{feff}{}", lines.join("\r\n"))
}

/// The lines that went and came, each with its sign; not a line end may differ besides.
fn differences(before: &str, after: &str) -> Vec<String> {
    let diff = TextDiff::from_lines(before, after);
    let changed = diff.iter_all_changes().filter_map(|change| {
        let sign = match change.tag() {
            ChangeTag::Delete => '-',
            ChangeTag::Insert => '+',
            ChangeTag::Equal => return None,
        };
        let line = change.value().strip_suffix("\r\n").unwrap_or_else(|| panic!("{:?}", change.value()));
        Some(format!("{sign}{line}"))
    });
    changed.collect()
}

/// Leaves the file as a person might, does the commands one after the other, and compares what each changed with what it should.
#[track_caller]
fn only_the_asked_change(shed: &Shed, file: &str, commands: &[(&[&str], &[&str])]) {
    let mut before = by_hand(&shed.read(file));
    shed.write(file, &before);
    for (words, expected) in commands {
        shed.run(words).done();
        let after = shed.read(file);
        assert_eq!(differences(&before, &after), *expected, "{words:?}\n{after}");
        before = after;
    }
}

#[test]
fn a_setup() {
    let shed = Shed::new();
    let commands: [(&[&str], &[&str]); 3] = [
        (
            &["change", "moth", "jetting.main=172", "--why", "up"],
            &["-main   =\t170  # beside main", "+main   =\t172  # beside main"],
        ),
        (
            &["change", "moth", "gearing.rear=", "--why", "not counted"],
            &["-rear   =\t40  # beside rear", "+# beside rear"],
        ),
        (&["change", "moth", "jetting.clip=3", "--why", "known now"], &["+clip = 3"]),
    ];
    only_the_asked_change(&shed, &setup_file("moth"), &commands);
}

#[test]
fn an_engine() {
    let shed = Shed::new();
    shed.run(&["change", "moth", "engine.bore=54 mm", "engine.stroke=54.5 mm", "--why", "read"]).done();
    let commands: [(&[&str], &[&str]); 2] = [
        (
            &["change", "moth", "engine.bore=54.1 mm", "--why", "bored", "--despite", "measured"],
            &["-bore   =\t\"54 mm\"  # beside bore", "+bore   =\t\"54.1 mm\"  # beside bore"],
        ),
        (
            &["change", "moth", "engine.stroke=", "--why", "doubted"],
            &["-stroke   =\t\"54.5 mm\"  # beside stroke", "+# beside stroke"],
        ),
    ];
    only_the_asked_change(&shed, "engines/moth-engine/engine.toml", &commands);
}

#[test]
fn a_bike() {
    let shed = Shed::new();
    let id = shed.setups("moth")[0].id.clone();
    let heading = format!("+[proven.{id}]");
    let commands: [(&[&str], &[&str]); 4] = [
        (
            &["proven", "moth", "--why", "it won"],
            &["+", &heading, "+date = \"2026-05-16T10:00+02:00\"", "+why = \"it won\""],
        ),
        (
            &["proven", "moth", "--withdraw"],
            &["-", &heading.replacen('+', "-", 1), "-date = \"2026-05-16T10:00+02:00\"", "-why = \"it won\""],
        ),
        (&["bike", "retire", "moth"], &["+retired = \"2026-05-16T10:00+02:00\""]),
        (&["bike", "retire", "moth", "--back"], &["-retired = \"2026-05-16T10:00+02:00\""]),
    ];
    only_the_asked_change(&shed, "bikes/moth/bike.toml", &commands);
}

#[test]
fn an_outing() {
    let shed = Shed::new();
    let words = [
        "outing",
        "add",
        "moth",
        "full=right",
        "3/4=rich",
        "--plug",
        "tan",
        "--note",
        "dry",
        "--lap",
        "1:02.3",
    ];
    shed.run(&words).done();
    let file = only_file(&shed, "bikes/moth/outings");
    let commands: [(&[&str], &[&str]); 3] = [
        (
            &["outing", "edit", "moth", "last", "full=slightly-rich"],
            &["-full   =\t\"right\"  # beside full", "+full   =\t\"slightly-rich\"  # beside full"],
        ),
        (
            &["outing", "edit", "moth", "last", "--remove", "plug"],
            &["-plug   =\t\"tan\"  # beside plug", "+# beside plug"],
        ),
        (&["outing", "edit", "moth", "last", "--place", "Tarn Hollow"], &["+place = \"Tarn Hollow\""]),
    ];
    only_the_asked_change(&shed, &file, &commands);
}

#[test]
fn a_build() {
    let shed = Shed::new();
    let words =
        ["build", "new", "moth-engine", "--scope", "top-end", "squish.front=0.75 mm", "squish.rear=0.8 mm"];
    shed.run(&words).done();
    let file = only_file(&shed, "engines/moth-engine/builds");
    let commands: [(&[&str], &[&str]); 2] = [
        (
            &["build", "measure", "moth-engine", "squish.front=0.78 mm"],
            &["-front   =\t\"0.75 mm\"  # beside front", "+front   =\t\"0.78 mm\"  # beside front"],
        ),
        (
            &["build", "measure", "moth-engine", "squish.rear="],
            &["-rear   =\t\"0.8 mm\"  # beside rear", "+# beside rear"],
        ),
    ];
    only_the_asked_change(&shed, &file, &commands);
}

#[test]
fn a_part() {
    let shed = Shed::new();
    shed.run(&["part", "add", "piston-1", "--kind", "piston", "--hours", "3", "--number", "77"]).done();
    let commands: [(&[&str], &[&str]); 3] = [
        (
            &["part", "edit", "piston-1", "number=78"],
            &["-number   =\t\"77\"  # beside number", "+number   =\t\"78\"  # beside number"],
        ),
        (
            &["part", "edit", "piston-1", "number="],
            &["-number   =\t\"78\"  # beside number", "+# beside number"],
        ),
        (&["part", "edit", "piston-1", "notes=second hand"], &["+notes = \"second hand\""]),
    ];
    only_the_asked_change(&shed, "parts/piston-1.toml", &commands);
}

fn only_file(shed: &Shed, folder: &str) -> String {
    let names = fs::read_dir(shed.root().join(folder)).unwrap();
    let names: Vec<String> = names.map(|name| name.unwrap().file_name().into_string().unwrap()).collect();
    assert_eq!(names.len(), 1, "{names:?}");
    format!("{folder}/{}", names[0])
}
