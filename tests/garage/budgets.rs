//! How many lines an answer takes on the demo, with the setup on the bike that its last race was won on: a screen at most, so that it
//! is read at one look. What is more stands in `-v`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

use std::process::Command;

use crate::replayed::{demo_in, temporary_folder};

/// The day on which they are asked.
const NOW: &str = "2026-11-28T12:31+01:00";

/// The airs that jets are asked for in: warm and high, cool and high, hot and damp, cold.
const AIRS: [&str; 4] = [
    "--temp 24C --baro 968hPa --humidity 40",
    "--temp 12C --baro 930hPa --humidity 60",
    "--temp 33C --baro 1000hPa --humidity 70",
    "--temp 5C --baro 1025hPa --humidity 40",
];

/// What is typed of every bike, and the lines it may take.
const OF_EACH: [(&str, usize); 6] = [
    ("history BIKE", 24),
    ("package BIKE", 16),
    ("show BIKE", 30),
    ("compare BIKE 1 latest", 26),
    ("compare BIKE 5 6", 26),
    (
        "outing add BIKE full=slightly-lean 1/2=right --place Hollinmoss --temp 24C --baro 968hPa --humidity 40 \
         --hours 0.3 --plug light-grey --note flat-over-the-top",
        8,
    ),
];

/// What is typed besides, and the lines it may take.
const BUDGETS: [(&str, usize); 23] = [
    ("map show moth ignition", 6),
    ("part due", 20),
    ("part due --within 2", 20),
    ("outing list moth", 50),
    ("compare moth 9 latest", 26),
    ("compare moth 3 latest", 26),
    ("compare moth 3 15", 26),
    ("build show cicada", 30),
    ("build show cricket", 30),
    ("build show granite", 30),
    ("build show finch", 30),
    ("build show basalt", 30),
    ("change moth main=176 --why warm", 10),
    ("change ibex main=310 --why warm", 10),
    ("change otter left.main=158 right.main=160 --why warm", 10),
    ("change wren injection.trim=-1% --why warm", 10),
    ("change moth main=178 ignition.advance@9500=16.5 --why later-by-half-a-degree", 10),
    // With three jobs of parts that are still open from before.
    ("rollback moth 1", 20),
    ("rollback moth 9", 18),
    ("rollback otter 1", 18),
    ("rollback wren 14", 18),
    ("rollback moth 22", 18),
    ("rollback ibex 12", 18),
];

/// The demo's bikes.
const BIKES: [&str; 4] = ["moth", "ibex", "otter", "wren"];

/// The first words of what writes: it is done once only.
const WRITES: [&str; 3] = ["change", "outing add", "rollback"];

#[test]
fn an_answer_takes_a_screen_at_most_and_more_with_v() {
    let folder = temporary_folder();
    std::fs::write(folder.path().join(".gitconfig"), "[user]\n\tname = Ana\n\temail = ana@example.org\n")
        .unwrap();
    let garage = folder.path().join("demo");
    demo_in(&garage);
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
    let of_each = BIKES.iter().flat_map(|bike| {
        let rejet = AIRS.map(|air| (format!("rejet {bike} {air}"), 18));
        let others = OF_EACH.map(|(typed, most)| (typed.replace("BIKE", bike), most));
        rejet.into_iter().chain(others)
    });
    let besides = BUDGETS.map(|(typed, most)| (typed.to_owned(), most));
    let mut over = Vec::new();
    for (at, (typed, most)) in of_each.chain(besides).enumerate() {
        let writes = WRITES.iter().any(|word| typed.starts_with(word));
        // What writes has a garage of its own.
        let own = folder.path().join(format!("of-{at}"));
        if writes {
            demo_in(&own);
        }
        let taken = lines(&typed, if writes { &own } else { &garage });
        assert!(taken > 1, "{typed} takes {taken} lines");
        if taken > most {
            over.push(format!("{typed} takes {taken} lines of {most}"));
        }
        // Not in every air again.
        if !writes && !typed.starts_with("map") && AIRS[1..].iter().all(|air| !typed.ends_with(air)) {
            let all = lines(&format!("{typed} -v"), &garage);
            assert!(all > taken, "{typed} -v takes {all} lines");
        }
    }
    assert!(over.is_empty(), "{}", over.join("\n"));
}
