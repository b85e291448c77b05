//! How many lines an answer takes on the demo, with the setup on the bike that its last race was won on: a screen at most, so that it
//! is read at one look. What is more stands in `-v`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

use std::process::Command;

use crate::common::copy;
use crate::replayed::{demo, temporary_folder};

/// The day on which they are asked.
const NOW: &str = "2026-11-28T12:31+01:00";

/// What is typed, and the lines it may take.
const BUDGETS: [(&str, usize); 25] = [
    ("rejet moth --temp 24C --baro 968hPa --humidity 40", 18),
    ("history moth", 24),
    ("map show moth ignition", 6),
    ("package moth", 16),
    ("package wren", 16),
    ("part due", 20),
    ("part due --within 2", 24),
    ("outing list moth", 50),
    ("compare moth 9 latest", 26),
    ("compare moth 3 latest", 26),
    ("compare moth 3 15", 26),
    ("show moth", 30),
    ("show ibex", 30),
    ("show otter", 30),
    ("show wren", 30),
    ("build show cicada", 30),
    ("build show cricket", 30),
    ("build show granite", 30),
    ("build show finch", 30),
    ("build show basalt", 30),
    ("history otter", 24),
    ("change moth main=176 --why warm", 10),
    (
        "outing add moth full=slightly-lean 1/2=right --place Hollinmoss --temp 24C --baro 968hPa --humidity 40 \
         --hours 0.3 --plug light-grey --note flat-over-the-top",
        8,
    ),
    ("change moth main=178 ignition.advance@9500=16.5 --why later-by-half-a-degree", 10),
    ("rollback moth 9", 20),
];

/// The first words of what writes: it is done once only.
const WRITES: [&str; 3] = ["change", "outing add", "rollback"];

#[test]
fn an_answer_takes_a_screen_at_most_and_more_with_v() {
    let folder = temporary_folder();
    std::fs::write(folder.path().join(".gitconfig"), "[user]\n\tname = Ana\n\temail = ana@example.org\n")
        .unwrap();
    let garage = folder.path().join("demo");
    copy(&demo().0, &garage);
    let lines = |typed: &str, garage: &std::path::Path| {
        let out = Command::new(env!("CARGO_BIN_EXE_reedbook"))
            .args(typed.split_whitespace())
            .current_dir(garage)
            .env("HOME", folder.path())
            .env("GIT_CONFIG_GLOBAL", folder.path().join(".gitconfig"))
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("REEDBOOK_NOW", NOW)
            .env_remove("COLUMNS")
            .output()
            .unwrap();
        assert!(out.status.success(), "{typed}: {}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap().lines().count()
    };
    for (at, (typed, most)) in BUDGETS.into_iter().enumerate() {
        if !WRITES.iter().any(|word| typed.starts_with(word)) && !typed.starts_with("map") {
            let all = lines(&format!("{typed} -v"), &garage);
            assert!(all > lines(typed, &garage), "{typed} -v takes {all} lines");
        }
        // What writes has a garage of its own.
        let own = folder.path().join(format!("of-{at}"));
        copy(&demo().0, &own);
        let taken = lines(typed, &own);
        assert!(taken > 3 && taken <= most, "{typed} takes {taken} lines of {most}");
    }
}
