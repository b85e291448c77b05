//! A file that is only the beginning of what was recorded, as after a full disk or a lost power, reads as a whole one: nothing is answered
//! or recorded without what stood in the rest. And hours of parts that cannot be counted are not answered as if they were.

use std::fs;
use std::path::PathBuf;

use crate::common::{Shed, in_a_line};
use crate::replayed;

/// A garage with a lean run, its verdict at the end of its file, and a part.
fn shed() -> (Shed, PathBuf) {
    let shed = Shed::new();
    shed.run_on(
        "2026-05-16T10:00+02:00",
        &["outing", "add", "moth", "full=lean", "--temp", "20", "--baro", "1000", "--humidity", "50"],
    )
    .done();
    shed.run(&["part", "add", "p1", "--kind", "piston"]).done();
    let file = shed.git(&["ls-files", "bikes/moth/outings"]).trim().to_owned();
    let path = shed.root().join(&file);
    (shed, path)
}

#[test]
fn a_run_that_is_cut_short_is_named_not_answered_without_and_comes_back() {
    let (shed, path) = shed();
    let whole = fs::read_to_string(&path).unwrap();
    let verdict = whole.find("[verdict]").expect("a verdict");
    let leaner = ["change", "moth", "jetting.main=168", "--why", "leaner"];
    let held = in_a_line(&shed.run(&leaner).refused());
    assert!(held.contains("lean"), "{held}");
    for cut in [&whole[..verdict], ""] {
        fs::write(&path, cut).unwrap();
        let commits = shed.git(&["rev-list", "--count", "HEAD"]);
        for words in [
            &leaner[..],
            &["proven", "moth", "1"],
            &["rejet", "moth", "--temp", "20", "--baro", "1000", "--humidity", "50"],
        ] {
            let said = in_a_line(&shed.run(words).refused());
            assert!(
                said.contains("cannot be read") && said.contains("reedbook garage fix bikes/moth/outings/"),
                "{words:?}: {said}"
            );
        }
        assert_eq!(shed.git(&["rev-list", "--count", "HEAD"]), commits, "nothing was taken in");
        let check = shed.run(&["garage", "check"]);
        assert!(in_a_line(&(check.out + &check.err)).contains("what was recorded goes on behind it"));
        let file = path.strip_prefix(shed.root()).unwrap().to_str().unwrap().to_owned();
        shed.run(&["garage", "fix", &file]).done();
        assert_eq!(fs::read_to_string(&path).unwrap(), whole);
        assert!(in_a_line(&shed.run(&leaner).refused()).contains("lean"));
    }
    // Whoever wants it so says it with git.
    fs::write(&path, &whole[..verdict]).unwrap();
    shed.git(&["commit", "-qam", "no verdict"]);
    shed.run(&["outing", "list", "moth"]).done();
    shed.run(&["garage", "check"]).done();
}

#[test]
fn a_part_that_is_cut_short_or_gone_is_said_with_the_jets_and_is_not_taken_in() {
    let (shed, _) = shed();
    shed.run(&["outing", "edit", "moth", "last", "verdict.full=right"]).done();
    let file = shed.root().join("parts/p1.toml");
    let whole = fs::read(&file).unwrap();
    let rejet = ["rejet", "moth", "--temp", "20", "--baro", "1000", "--humidity", "50"];
    for (bytes, what) in [
        (Some(&whole[..0]), "cannot be read"),
        (Some(&whole[..20]), "cannot be read"),
        (None, "is recorded and missing"),
    ] {
        match bytes {
            Some(bytes) => fs::write(&file, bytes).unwrap(),
            None => fs::remove_file(&file).unwrap(),
        }
        let answer = shed.run(&rejet).done();
        let said = in_a_line(&answer.out);
        assert!(said.contains("parts/p1.toml") && said.contains(what), "{what}: {said}");
        let commits = shed.git(&["rev-list", "--count", "HEAD"]);
        let _ = shed.run(&["part", "add", "p2", "--kind", "piston"]);
        let now = shed.git(&["log", "--format=%s"]);
        assert!(!now.contains("edited by hand"), "{commits}: {now}");
        shed.run(&["garage", "fix", "parts/p1.toml"]).done();
        assert_eq!(fs::read(&file).unwrap(), whole);
        let _ = shed.run(&["part", "retire", "p2"]);
    }
    assert!(!in_a_line(&shed.run(&rejet).done().out).contains("p1.toml"));
}

#[test]
fn a_table_that_is_cut_short_is_not_believed() {
    let (shed, _) = shed();
    for table in ["limits", "jets", "needles", "shares"] {
        let file = format!("configs/{table}.toml");
        let path = shed.root().join(&file);
        let Ok(whole) = fs::read(&path) else { continue };
        for bytes in [&whole[..0], &whole[..whole.len() / 2]] {
            fs::write(&path, bytes).unwrap();
            let check = shed.run(&["garage", "check"]);
            let said = in_a_line(&(check.out.clone() + &check.err));
            assert!(said.contains(&file) && said.contains(&format!("reedbook garage fix {file}")), "{said}");
            shed.run(&["garage", "fix", &file]).done();
            assert_eq!(fs::read(&path).unwrap(), whole);
        }
    }
    // The garage's own file, whose units say what a bare number is.
    let path = shed.root().join("garage.toml");
    let whole = fs::read(&path).unwrap();
    for bytes in [&whole[..0], &whole[..whole.len() / 2]] {
        fs::write(&path, bytes).unwrap();
        let said = in_a_line(&shed.run(&["now"]).refused());
        assert!(said.contains("reedbook garage fix garage.toml"), "{said}");
        shed.run(&["garage", "fix", "garage.toml"]).done();
        assert_eq!(fs::read(&path).unwrap(), whole);
    }
}

/// What reads as a whole setup is not answered from, not recorded, and put back by what is said.
#[test]
fn a_setup_or_an_engine_that_is_cut_short_is_neither_answered_from_nor_recorded() {
    let shed = Shed::new();
    let engine = "engines/moth-engine/engine.toml";
    shed.write(engine, "[engine]\nbore = 54\nstroke = 54.5\nrod = 110\n\n[head]\ninsert = \"a\"\n");
    shed.run(&["change", "moth", "--why", "measured"]).done();
    let setup = "bikes/moth/setup.toml";
    let run = ["outing", "add", "moth", "full=right", "--temp", "20", "--baro", "1000", "--humidity", "50"];
    shed.run(&run).done();
    let rejet = ["rejet", "moth", "--temp", "20", "--baro", "1000", "--humidity", "50"];
    let asked: [&[&str]; 5] = [
        &["change", "moth", "jetting.main=172", "--why", "t"],
        &["change", "moth", "--why", "t"],
        &["rollback", "moth", "1"],
        &rejet,
        &["rejet", "moth", "--card", "--temp", "20", "--baro", "1000", "--humidity", "50"],
    ];
    for (file, back) in
        [(engine, &["garage", "fix", engine][..]), (setup, &["rollback", "moth", "latest", "--lose-edits"])]
    {
        let whole = shed.read(file);
        for cut in [0, whole.find("\n[").unwrap() + 1, whole.rfind("\n[").unwrap()] {
            shed.write(file, &whole[..cut]);
            let commits = shed.git(&["rev-list", "--count", "HEAD"]);
            for words in asked {
                let said = in_a_line(&shed.run(words).refused());
                let way_out = format!("reedbook {}", back.join(" "));
                assert!(said.contains(file) && said.contains(&way_out), "{cut} {words:?}: {said}");
            }
            let check = shed.run(&["garage", "check"]);
            assert!(check.code == Some(1), "{}", check.out);
            assert!(in_a_line(&check.out).contains("goes on behind it"), "{}", check.out);
            assert_eq!(shed.git(&["rev-list", "--count", "HEAD"]), commits, "nothing was recorded");
            shed.run(back).done();
            assert_eq!(shed.read(file), whole);
        }
    }
    // The engine of another bike, not yet in this one.
    let whole = shed.read(engine);
    shed.write(engine, "");
    let said = shed.run(&["change", "wasp", "engine=moth-engine", "--why", "swap"]).refused();
    assert!(said.contains(engine), "{said}");
    let said = shed.run(&["engine", "owner", "moth-engine", "Carla Venn"]).refused();
    assert!(said.contains("garage fix"), "{said}");
    shed.write(engine, whole.as_bytes());
    // Without remarks at its end a file says the same.
    let spoken = shed.read(setup);
    shed.write(setup, format!("{spoken}# a remark\n"));
    shed.git(&["commit", "-qam", "a remark"]);
    shed.write(setup, spoken);
    shed.run(&rejet).done();
}

#[test]
fn a_part_that_is_gone_is_said_with_what_is_due() {
    let (shed, _) = shed();
    fs::remove_file(shed.root().join("parts/p1.toml")).unwrap();
    let due = in_a_line(&shed.run(&["part", "due"]).done().out);
    assert!(due.contains("parts/p1.toml is recorded and missing on disk"), "{due}");
    assert!(due.contains("reedbook garage fix parts/p1.toml"), "{due}");
}

#[test]
fn a_bike_s_file_that_is_cut_short_is_named() {
    let shed = Shed::new();
    shed.run(&["proven", "moth", "1", "--why", "as it came"]).done();
    let file = "bikes/moth/bike.toml";
    let whole = shed.read(file);
    for cut in [0, whole.find("[proven").unwrap()] {
        shed.write(file, &whole[..cut]);
        for words in [&["now", "moth"][..], &["history", "moth"], &["proven", "moth", "1"]] {
            let answer = shed.run(words);
            let said = in_a_line(&(answer.out + &answer.err));
            assert!(said.contains("bike.toml is"), "{words:?}: {said}");
        }
        shed.run(&["garage", "fix", file]).done();
        assert_eq!(shed.read(file), whole);
    }
}

#[test]
fn a_clone_with_the_end_of_the_history_alone_does_not_answer_hours_of_parts() {
    let shed = Shed::empty();
    let from = format!("file://{}", replayed::demo().0.display());
    let shallow = shed.above().join("shallow");
    shed.git_in(shed.above(), &["clone", "-q", "--depth", "5", &from, "shallow"]).done();
    let due = in_a_line(&shed.run_in(&shallow, &["part", "due"]).done().out);
    assert!(due.contains("git fetch --unshallow"), "{due}");
    assert!(!due.contains("--setup NUMBER"), "{due}");
    let air = ["rejet", "moth", "--temp", "24", "--baro", "968", "--humidity", "40"];
    let rejet = in_a_line(&shed.run_in(&shallow, &air).done().out);
    assert!(rejet.contains("parts have more hours than it knows"), "{rejet}");
}

#[test]
fn a_list_of_jobs_that_is_gone_is_said_and_a_garage_without_its_file_is_known_again() {
    let shed = Shed::new();
    shed.run(&["change", "moth", "jetting.main=172", "--why", "hot"]).done();
    let file = shed.git(&["ls-files", "jobs"]).lines().next().expect("jobs").to_owned();
    let whole = fs::read(shed.root().join(&file)).unwrap();
    fs::remove_file(shed.root().join(&file)).unwrap();
    let now = in_a_line(&shed.run(&["now", "moth"]).done().out);
    assert!(now.contains(&format!("{file} is recorded and missing on disk")), "{now}");
    let check = shed.run(&["garage", "check"]);
    assert!(check.code == Some(1) && check.out.contains("NOT SOUND"), "{}", check.out);
    shed.run(&["garage", "fix", &file]).done();
    assert_eq!(fs::read(shed.root().join(&file)).unwrap(), whole);
    shed.run(&["garage", "check"]).done();
    // Also where it was recorded that garage.toml is gone.
    shed.git(&["rm", "-q", "garage.toml"]);
    for (words, recorded) in [(&["now"][..], false), (&["garage", "new", "."], false), (&["now"], true)] {
        if recorded {
            shed.git(&["commit", "-qm", "a slip"]);
        }
        let said = in_a_line(&shed.run(words).refused());
        assert!(said.contains("garage.toml is gone") && said.contains("garage fix garage.toml"), "{said}");
    }
    shed.run(&["garage", "fix", "garage.toml"]).done();
    shed.run(&["now"]).done();
    shed.run(&["garage", "check"]).done();
}
