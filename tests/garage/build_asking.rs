//! A rebuild typed at a terminal, following only what is asked: readings, slips, going back, stopping half-way, the check
//! list. The terminal is a pseudo-terminal, so that the program sees somebody it can ask.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use crate::common;

use std::fs::File;
use std::io::{Read, Write};
use std::os::fd::OwnedFd;

use common::Shed;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};

/// Runs the program at a terminal and types the answers, one a line; gives what stood on the screen at the end.
fn at_a_terminal(shed: &Shed, words: &[&str], answers: &[&str]) -> String {
    let ours: OwnedFd = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&ours).unwrap();
    unlockpt(&ours).unwrap();
    let name = ptsname(&ours, Vec::new()).unwrap().into_string().unwrap();
    let theirs = || std::fs::OpenOptions::new().read(true).write(true).open(&name).unwrap();
    let mut child = shed
        .program(&shed.root(), words)
        .env("NO_COLOR", "1")
        .stdin(theirs())
        .stdout(theirs())
        .stderr(theirs())
        .spawn()
        .unwrap();
    let mut screen = File::from(ours);
    // The terminal keeps the lines until they are asked for.
    screen.write_all(format!("{}\n", answers.join("\n")).as_bytes()).unwrap();
    // The end of the input is ctrl-d on a line of its own.
    screen.write_all(b"\x04").unwrap();
    let mut seen = Vec::new();
    let mut part = [0; 4096];
    // A terminal that nobody holds any more ends with an error.
    while let Ok(read) = screen.read(&mut part) {
        if read == 0 {
            break;
        }
        seen.extend_from_slice(&part[..read]);
    }
    child.wait().unwrap();
    String::from_utf8_lossy(&seen).replace('\r', "")
}

const TOP_END: [&str; 27] = [
    "18 C", "12", "53.940", "0.002", "piston", // temperature, gauge height, piston, step, zeroed on
    "10", "0.066", "0.068", // top
    "30", "0.062", "0.064", // middle
    "55", "0.060", "0.060", // bottom
    "10", "0.33", "55", "0.31", // ring gaps
    "0.04", "15.003", "14.998", // ring side clearance, pin bore, pin
    "0.75", "0.76", "0.74", "0.75", // squish
    "0.5", "0.5", // gaskets
];

#[test]
fn a_top_end_is_typed_by_answering() {
    let shed = Shed::new();
    let seen = at_a_terminal(&shed, &["build", "new", "moth-engine", "--why", "new piston"], &TOP_END);
    assert!(seen.contains("piston clearance") && seen.contains("0.060"), "{seen}");
    assert!(seen.contains("at 20 C, mm") && seen.contains("bore map, steps"), "{seen}");
    let file =
        std::fs::read_dir(shed.root().join("engines/moth-engine/builds")).unwrap().next().unwrap().unwrap();
    let text = std::fs::read_to_string(file.path()).unwrap();
    assert!(text.contains("set_on = \"piston\"") && text.contains("gap = 0.31"), "{text}");
    let status = shed.git(&["status", "--porcelain"]);
    assert!(!status.contains("builds"), "left unrecorded: {status}");
}

#[test]
fn a_slip_is_said_at_once_and_asked_again_and_one_can_go_back() {
    let shed = Shed::new();
    let answers = ["18 degrees", "18", "", "53.940 in", "<", "<", "53.940", ".", ""];
    let seen = at_a_terminal(&shed, &["build", "new", "moth-engine"], &answers);
    assert!(seen.contains("no: temperature"), "{seen}");
    assert!(seen.contains("no: piston.diameter cannot be 53.940 in"), "{seen}");
    assert!(seen.matches("piston: diameter").count() >= 2, "{seen}");
}

#[test]
fn what_was_answered_stays_and_the_next_time_only_the_rest_is_asked() {
    let shed = Shed::new();
    at_a_terminal(&shed, &["build", "new", "moth-engine"], &["18", "12", "53.940", "."]);
    let seen = at_a_terminal(&shed, &["build", "measure", "moth-engine"], &["0.002", "."]);
    assert!(!seen.contains("piston: diameter"), "asked again: {seen}");
    assert!(seen.contains("bore gauge: least step"), "{seen}");
    let seen =
        at_a_terminal(&shed, &["build", "measure", "moth-engine"], &["gauges.bore.set_on=piston", "."]);
    let shown = shed.run(&["build", "measure", "moth-engine"]).done().out;
    assert!(!shown.contains("set_on"), "not written down: {seen}\n{shown}");
}

#[test]
fn the_check_list_is_worked_through() {
    let shed = Shed::new();
    shed.run(&["build", "new", "moth-engine", "--by", "Oskar"]).done();
    let answers =
        ["", "x", "this cylinder has none", "not yet", "maybe", "+ gasket 0.5, measured twice", "."];
    let seen = at_a_terminal(&shed, &["build", "steps", "moth-engine"], &answers);
    assert!(seen.contains("CAUTION") && seen.contains("why does it not apply?"), "{seen}");
    let steps = shed.run(&["build", "steps", "moth-engine"]).done().out;
    assert!(steps.contains("left out, this cylinder has none"), "{steps}");
    assert!(steps.contains("\"gasket 0.5, measured twice\""), "{steps}");
    assert_eq!(steps.matches("  ok  ").count(), 2, "{steps}");
    let status = shed.git(&["status", "--porcelain"]);
    assert!(!status.contains("builds"), "left unrecorded: {status}");
}

#[test]
fn a_step_that_wants_a_torque_asks_for_it() {
    let shed = Shed::new();
    shed.run(&["build", "new", "moth-engine", "--by", "Oskar"]).done();
    let names: Vec<String> = shed
        .run(&["build", "steps", "moth-engine"])
        .done()
        .out
        .lines()
        .filter_map(|line| line.strip_prefix("open  ")?.split(':').next().map(str::to_owned))
        .collect();
    let before = names.iter().position(|name| name == "base-nuts").unwrap();
    let mut answers = vec!["l"; before];
    answers.extend(["", "20 litres", "white paint", "20", "white paint", "."]);
    let seen = at_a_terminal(&shed, &["build", "steps", "moth-engine"], &answers);
    assert!(seen.contains("torque, in Nm?") && seen.contains("no: "), "{seen}");
    let steps = shed.run(&["build", "steps", "moth-engine"]).done().out;
    assert!(steps.contains("base-nuts") && steps.contains("20 Nm, white paint"), "{steps}");
}

#[test]
fn nobody_is_asked_where_nobody_sits() {
    let shed = Shed::new();
    let begun = shed.run(&["build", "new", "moth-engine"]).done().out;
    assert!(begun.contains("Nothing is measured yet"), "{begun}");
    let listed = shed.run(&["build", "measure", "moth-engine"]).done().out;
    assert!(listed.contains("not written down") && listed.contains("piston.diameter"), "{listed}");
}
