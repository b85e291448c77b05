//! A long answer at a terminal goes through the user's pager, and loses nothing where that is missing or ends badly. The terminal is
//! a pseudo-terminal of a few lines.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use std::fs::File;
use std::io::Read;

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcsetwinsize};

use crate::common::Shed;

/// What stands on a terminal of so many lines after a command with a pager; on one that cannot move its cursor.
fn seen(shed: &Shed, words: &[&str], lines: u16, pager: Option<&str>) -> String {
    seen_on("", shed, words, (lines, pager))
}

/// The same on a terminal of this kind.
pub(crate) fn seen_on(
    term: &str,
    shed: &Shed,
    words: &[&str],
    (lines, pager): (u16, Option<&str>),
) -> String {
    let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&ours).unwrap();
    unlockpt(&ours).unwrap();
    tcsetwinsize(&ours, Winsize { ws_row: lines, ws_col: 80, ws_xpixel: 0, ws_ypixel: 0 }).unwrap();
    let name = ptsname(&ours, Vec::new()).unwrap().into_string().unwrap();
    let theirs = || std::fs::OpenOptions::new().read(true).write(true).open(&name).unwrap();
    let mut command = shed.program(&shed.root(), words);
    command.env("NO_COLOR", "1").stdin(theirs()).stdout(theirs()).stderr(theirs());
    if !term.is_empty() {
        command.env("TERM", term);
    }
    if let Some(pager) = pager {
        command.env("PAGER", pager);
    }
    let mut child = command.spawn().unwrap();
    drop(command);
    let mut screen = File::from(ours);
    let (mut all, mut part) = (Vec::new(), [0; 4096]);
    while let Ok(read) = screen.read(&mut part) {
        if read == 0 {
            break;
        }
        all.extend_from_slice(&part[..read]);
    }
    assert!(child.wait().unwrap().success(), "{words:?} with {pager:?}");
    String::from_utf8_lossy(&all).replace('\r', "")
}

#[test]
fn a_long_answer_goes_through_the_pager_and_a_missing_one_loses_nothing() {
    let shed = Shed::new();
    let long = ["cautions"];
    let plain = shed.run(&long).done().out;
    assert!(plain.lines().count() > 8, "{plain}");
    let through = seen(&shed, &long, 8, Some("sed s/^/P:/"));
    assert!(through.lines().all(|line| line.starts_with("P:")), "{through}");
    assert_eq!(through.replace("P:", ""), plain);
    // Where it fits, where nobody wants it, where it is none, cannot be started or ends badly.
    assert_eq!(seen(&shed, &long, 200, Some("sed s/^/P:/")), plain);
    assert_eq!(seen(&shed, &["cautions", "--no-pager"], 8, Some("sed s/^/P:/")), plain);
    for pager in ["", "cat", "/no/such/pager", "false"] {
        assert_eq!(seen(&shed, &long, 8, Some(pager)), plain, "{pager}");
    }
    // Without a terminal that can move its cursor no pager is taken that nobody named.
    assert_eq!(seen(&shed, &long, 8, None), plain);
    // One that has seen enough is no error.
    assert_eq!(seen(&shed, &long, 8, Some("head -n 2")).lines().count(), 2);
}
