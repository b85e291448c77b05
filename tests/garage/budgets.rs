//! How many lines an answer takes on the demo, of each of its bikes: a screen at most, so that it is read at one look. What is more stands
//! in `-v`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::replayed::{demo_in, temporary_folder};
use crate::temporary::copy;

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
const OF_EACH: [(&str, usize); 12] = [
    ("now BIKE", 24),
    ("history BIKE", 24),
    ("package BIKE", 16),
    ("show BIKE", 30),
    ("compare BIKE 1 latest", 26),
    ("compare BIKE 5 6", 26),
    (
        "outing add BIKE full=right 1/2=right --place Hollinmoss AIR --hours 0.3 --plug light-grey --note flat-over",
        8,
    ),
    ("outing add BIKE full=slightly-lean 1/2=right --place Hollinmoss AIR --hours 0.3 --plug light-grey", 8),
    ("outing add BIKE full=lean 1/2=lean --place Hollinmoss AIR --hours 0.3 --note flat-over-the-top", 8),
    ("outing add BIKE full=right --place Hollinmoss AIR --hours 0.3 --note seized-on-the-straight", 8),
    ("rollback BIKE 1 --despite why", DESPITE),
    ("change BIKE RICHER --why warm", 10),
];

/// A rollback in spite of a refusal: that and its reason stand in it too.
const DESPITE: usize = 22;

/// What is typed besides, and the lines it may take.
const BESIDES: [(&str, usize); 27] = [
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
    ("change moth main=178 ignition.advance@9500=16.5 --why later-by-half-a-degree", 10),
    ("change ibex main=300 --why warm", 10),
    ("change otter left.main=158 right.main=160 --why warm", 10),
    ("change otter all.main=158 --why warm", 10),
    ("change wren injection.trim=-1% --why warm", 10),
    ("rollback moth 5 --despite why", DESPITE),
    ("rollback moth 16 --despite why", DESPITE),
    ("rollback moth 22 --despite why", DESPITE),
    ("rollback moth 29 --despite why", DESPITE),
    ("rollback ibex 5 --despite why", DESPITE),
    ("rollback ibex 12 --despite why", DESPITE),
    ("rollback ibex 20 --despite why", DESPITE),
    ("rollback otter 5 --despite why", DESPITE),
    ("rollback otter 8 --despite why", DESPITE),
    ("rollback wren 14 --despite why", DESPITE),
];

/// The demo's bikes, with what makes each richer: a single, a large one, a twin with a jet a cylinder, an injected one.
const BIKES: [(&str, &str); 4] =
    [("moth", "main=180"), ("ibex", "main=310"), ("otter", "all.main=164"), ("wren", "injection.trim=2%")];

/// The first words of what writes: it is done once only.
const WRITES: [&str; 3] = ["change", "outing add", "rollback"];

/// What the demo does last, behind its two seasons: an older setup is put back, and nothing of it is ticked.
const TOUR: &str = "rollback moth 9 --despite why";

/// A garage of a demo, and the program in it.
struct Seasons {
    folder: tempfile::TempDir,
    demo: PathBuf,
}

impl Seasons {
    /// The two seasons, with the setup on the bike that the last race was won on; with what `then` does behind them.
    fn new(then: &[&str]) -> Self {
        let folder = temporary_folder();
        let git = "[user]\n\tname = Ana\n\temail = ana@example.org\n";
        std::fs::write(folder.path().join(".gitconfig"), git).unwrap();
        let seasons = Self { demo: folder.path().join("demo"), folder };
        demo_in(&seasons.demo);
        for typed in then {
            drop(seasons.said(typed, &seasons.demo));
        }
        seasons
    }

    /// What is said in a garage.
    fn said(&self, typed: &str, garage: &Path) -> String {
        let out = Command::new(env!("CARGO_BIN_EXE_reedbook"))
            .args(typed.split_whitespace())
            .current_dir(garage)
            .env("HOME", self.folder.path())
            .env("GIT_CONFIG_GLOBAL", self.folder.path().join(".gitconfig"))
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("REEDBOOK_NOW", NOW)
            .env_remove("COLUMNS")
            .output()
            .unwrap();
        assert!(out.status.success(), "{typed}: {}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    }

    /// The same where it writes: in a garage of its own.
    fn written(&self, typed: &str) -> String {
        let own = tempfile::TempDir::new_in(self.folder.path()).unwrap();
        let garage = own.path().join("demo");
        copy(&self.demo, &garage, &|file| file.components().any(|part| part.as_os_str() == "objects"));
        self.said(typed, &garage)
    }

    /// What takes more lines than it may.
    fn over(&self, asked: impl IntoIterator<Item = (String, usize)>) -> Vec<String> {
        let mut over = Vec::new();
        for (typed, most) in asked {
            let writes = WRITES.iter().any(|word| typed.starts_with(word));
            let said = if writes { self.written(&typed) } else { self.said(&typed, &self.demo) };
            let taken = said.lines().count();
            assert!(taken > 0, "{typed} says nothing");
            if taken > most {
                over.push(format!("{typed} takes {taken} lines of {most}:\n{said}"));
            }
            // Not in every air again.
            if !writes && !typed.starts_with("map") && AIRS[1..].iter().all(|air| !typed.ends_with(air)) {
                let all = self.said(&format!("{typed} -v"), &self.demo).lines().count();
                assert!(all > taken, "{typed} -v takes {all} lines, and {taken} without");
            }
        }
        over
    }
}

/// What is typed of every bike in every air.
fn of_each() -> Vec<(String, usize)> {
    let of_one = |(bike, richer): (&str, &str)| {
        let rejet = AIRS.map(|air| (format!("rejet {bike} {air}"), 18));
        let typed =
            |typed: &str| typed.replace("BIKE", bike).replace("RICHER", richer).replace("AIR", AIRS[0]);
        rejet.into_iter().chain(OF_EACH.map(|(words, most)| (typed(words), most))).collect::<Vec<_>>()
    };
    BIKES.into_iter().flat_map(of_one).collect()
}

#[test]
fn an_answer_takes_a_screen_at_most_and_more_with_v() {
    let seasons = Seasons::new(&[]);
    let besides = BESIDES.map(|(typed, most)| (typed.to_owned(), most));
    let over = seasons.over(of_each().into_iter().chain(besides));
    assert!(over.is_empty(), "{}", over.join("\n"));
}

/// With jobs of a rollback open, a fuel that is not in the tank and runs that were lean on what was put back: what can hurt is never
/// what gives way.
#[test]
fn it_takes_no_more_as_the_demo_leaves_it() {
    let seasons = Seasons::new(&[TOUR]);
    let over = seasons.over(of_each());
    assert!(over.is_empty(), "{}", over.join("\n"));
    // The same where the air of the day is known.
    let kept = Seasons::new(&[TOUR, "air 24 968 40 --keep --place Hollinmoss"]);
    let asked = BIKES.map(|(bike, _)| (format!("now {bike}"), 25));
    let lean = ("outing add moth full=slightly-lean 1/2=right --hours 0.3".to_owned(), 8);
    let over = kept.over(asked.into_iter().chain([lean]));
    assert!(over.is_empty(), "{}", over.join("\n"));
    let holds = ["Nothing leaner at half throttle", "Jetting like this ran lean", "4 sizes leaner"];
    let now = seasons.said("now moth", &seasons.demo);
    let jobs = ["piston-5, ring-6, small-end-3", "main 178 → 170", "fuel race can → pump 98", "More: -v."];
    assert!(holds.iter().chain(&jobs).all(|words| now.contains(words)), "{now}");
    let rejet = seasons.said(&format!("rejet moth {}", AIRS[1]), &seasons.demo);
    let said = [
        "!! Fill first or it may be lean: fuel race can → pump 98; petrol to oil 26 → 28.\nmoth: FIT main 178 → 174",
        "THEN main 172",
        "cancels it: tick it first",
        "Nothing leaner at full throttle",
        "too lean seizes the engine",
    ];
    assert!(said.iter().all(|words| rejet.contains(words)), "{rejet}");
    let lean = seasons.written(&format!("outing add moth full=slightly-lean --place Hollinmoss {}", AIRS[0]));
    let said = [
        "jet up before the next",
        "change it before it runs",
        "Setup 39 with it, or 38 without?",
        "--setup NUMBER",
    ];
    assert!(said.iter().all(|words| lean.contains(words)), "{lean}");
    let back = seasons.written("rollback moth 1 --despite why");
    let said =
        ["Nothing leaner at idle", "Jetting like this ran lean", "Not all of it came back", "More: -v."];
    assert!(said.iter().all(|words| back.contains(words)), "{back}");
}
