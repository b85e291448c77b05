//! An advice that was recorded stands still: asked again in the same air it changes nothing, whatever was on the bike before.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

use std::process::{Command, Output};

use serde_json::Value;

use crate::replayed::{demo_in, temporary_folder};

/// The day on which it is asked.
const NOW: &str = "2026-11-28T12:31+01:00";

/// Temperature, station pressure and humidity. The first two made main jet and clip take turns once.
const AIRS: [(&str, &str, &str); 12] = [
    ("-5 C", "1040 hPa", "50"),
    ("-5 C", "1035 hPa", "50"),
    ("32 C", "985 hPa", "40"),
    ("8 C", "1025 hPa", "70"),
    ("20 C", "850 hPa", "50"),
    ("1 C", "800 hPa", "20"),
    ("-2 C", "1000 hPa", "80"),
    ("26 C", "950 hPa", "30"),
    ("14 C", "1013 hPa", "60"),
    ("38 C", "1005 hPa", "20"),
    ("5 C", "900 hPa", "90"),
    ("-10 C", "1045 hPa", "40"),
];

#[test]
fn what_was_recorded_is_the_answer_when_it_is_asked_again() {
    let folder = temporary_folder();
    let name = "[user]\n\tname = Ana\n\temail = ana@example.org\n";
    std::fs::write(folder.path().join(".gitconfig"), name).unwrap();
    let garage = folder.path().join("demo");
    demo_in(&garage);
    let run = |bike: &str, (temp, baro, humidity): (&str, &str, &str), more: &str| -> Output {
        let air = ["--temp", temp, "--baro", baro, "--humidity", humidity];
        Command::new(env!("CARGO_BIN_EXE_reedbook"))
            .args(["rejet", bike, "--sure", more])
            .args(air)
            .current_dir(&garage)
            .env("HOME", folder.path())
            .env("GIT_CONFIG_GLOBAL", folder.path().join(".gitconfig"))
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("REEDBOOK_NOW", NOW)
            .output()
            .unwrap()
    };
    let mut recorded = 0;
    for (bike, airs) in [("moth", &AIRS[..]), ("ibex", &AIRS[..5]), ("wren", &AIRS[..4])] {
        for air in airs {
            let done = run(bike, *air, "--record");
            let said = String::from_utf8_lossy(&done.stderr).into_owned();
            // Refused, or there already: then nothing was recorded, and only what is on the bike already stands still.
            if !done.status.success() && !said.contains("nothing to record") {
                continue;
            }
            recorded += 1;
            let asked = || -> Value {
                let again = run(bike, *air, "--json");
                serde_json::from_slice(&again.stdout)
                    .unwrap_or_else(|error| panic!("{bike} {air:?}: {error}: {said}"))
            };
            let mut answer = asked();
            // From a size that never ran it goes down in steps: only the main jet or the trim, only leaner, and to an end.
            let (mut steps, mut before) = (0, f64::INFINITY);
            while let Some([step]) = answer["assignments"].as_array().map(Vec::as_slice) {
                let size = step["value"].as_str().unwrap().trim_end_matches(" %").parse::<f64>().unwrap();
                let sizes = ["jetting.main", "injection.trim"];
                assert!(
                    sizes.iter().any(|field| step["field"] == *field) && size < before,
                    "{bike} in {air:?}: {step}"
                );
                (steps, before) = (steps + 1, size);
                assert!(steps < 8, "{bike} in {air:?} goes on and on");
                assert!(run(bike, *air, "--record").status.success());
                answer = asked();
            }
            assert_eq!(answer["assignments"], Value::Array(Vec::new()), "{bike} in {air:?}, asked again");
        }
    }
    assert!(recorded >= 12, "only {recorded} were recorded");
}
