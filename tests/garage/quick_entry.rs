//! Quick entry: an outing by keys at a pseudo-terminal, and airs that two clones kept at one place.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use crate::common;

use common::Shed;

#[cfg(unix)]
mod asked {
    use std::fs::File;
    use std::io::{Read, Write};
    use std::os::fd::OwnedFd;

    use std::thread::sleep;
    use std::time::{Duration, Instant};

    use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
    use rustix::termios::{LocalModes, tcgetattr};

    use super::common::Shed;

    /// The longest that one play may take.
    const LONGEST: Duration = Duration::from_secs(60);

    /// What stood on the screen, whether the program did what it was asked, and whether the terminal gives lines again.
    struct Played {
        seen: String,
        done: bool,
        lines: bool,
    }

    /// Runs the program at a terminal; each of the keys is typed once its prompt is there.
    fn play(shed: &Shed, words: &[&str], keys: &[(&str, &[u8])]) -> Played {
        let ours: OwnedFd = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
        grantpt(&ours).unwrap();
        unlockpt(&ours).unwrap();
        let name = ptsname(&ours, Vec::new()).unwrap().into_string().unwrap();
        let theirs = || std::fs::OpenOptions::new().read(true).write(true).open(&name).unwrap();
        let held = theirs();
        let mut program = shed.program(&shed.root(), words);
        program.env("NO_COLOR", "1").stdin(theirs()).stdout(theirs()).stderr(theirs());
        let mut child = program.spawn().unwrap();
        drop(program);
        let mut screen = File::from(ours);
        rustix::io::ioctl_fionbio(&screen, true).unwrap();
        let until = Instant::now() + LONGEST;
        let (mut seen, mut from, mut part) = (String::new(), 0, [0; 4096]);
        for (prompt, typed) in keys {
            let at = loop {
                match seen[from..].find(prompt) {
                    Some(at) => break from + at + prompt.len(),
                    None if child.try_wait().unwrap().is_some() => panic!("ended before {prompt:?}: {seen}"),
                    None if Instant::now() > until => {
                        child.kill().unwrap();
                        panic!("waited in vain for {prompt:?}: {seen}");
                    }
                    None => match screen.read(&mut part) {
                        Ok(read) => seen.push_str(&String::from_utf8_lossy(&part[..read]).replace('\r', "")),
                        Err(_) => sleep(Duration::from_millis(5)),
                    },
                }
            };
            from = at;
            screen.write_all(typed).unwrap();
        }
        let done = loop {
            if let Some(status) = child.try_wait().unwrap() {
                break status.success();
            }
            if Instant::now() > until {
                child.kill().unwrap();
                panic!("it does not end: {seen}");
            }
            sleep(Duration::from_millis(5));
        };
        let lines = tcgetattr(&held).unwrap().local_modes.contains(LocalModes::ICANON | LocalModes::ECHO);
        drop(held);
        // A terminal that nobody holds any more ends with an error.
        while let Ok(read) = screen.read(&mut part) {
            if read == 0 {
                break;
            }
            seen.push_str(&String::from_utf8_lossy(&part[..read]).replace('\r', ""));
        }
        Played { seen, done, lines }
    }

    const ZONES: [&str; 6] = ["full", "3/4", "1/2", "1/4", "1/8", "idle"];

    fn after_a_kept_air() -> Shed {
        let shed = Shed::new();
        let kept =
            ["air", "--place", "Teal Pass", "--temp", "18", "--baro", "985", "--humidity", "50", "--keep"];
        shed.run(&kept).done();
        shed
    }

    #[test]
    fn an_outing_is_logged_by_keys() {
        let shed = after_a_kept_air();
        let typed: [&[u8]; 6] = [b"r", b"\r", b"t", b"x", b"\r", b"\r"];
        let mut keys: Vec<(&str, &[u8])> = ZONES.into_iter().zip(typed).collect();
        // A key that is none is asked again; one can go back.
        keys.insert(4, ("1/4", b"<"));
        keys.insert(5, ("1/2", b"s"));
        keys.insert(6, ("1/4", b"\r"));
        keys.extend([
            ("session:", &b"heat 1\n"[..]),
            ("best lap:", b"\n"),
            ("0.3 h:", b"18 min\n"),
            ("notes:", b"dusty\n"),
        ]);
        let Played { seen, done, lines } = play(&shed, &["outing", "add", "moth"], &keys);
        assert!(done && lines, "{seen}");
        let head = "Teal Pass\nAs last today: place.\n";
        for told in ["l lean", "r right", head, "air of Teal Pass, kept 10:00", "right"] {
            assert!(seen.contains(told), "{told} is not told: {seen}");
        }
        let outing = &shed.json(&["outing", "list", "moth"])["outings"][0];
        assert_eq!(outing["verdict"], serde_json::json!({ "half": "slightly-lean", "full": "right" }));
        assert_eq!((outing["session"].as_str(), outing["notes"].as_str()), (Some("heat 1"), Some("dusty")));
        assert_eq!(outing["air"]["read"]["temp"], "18 C");
        assert_eq!(outing["hours"], 0.3);
        assert!(seen.lines().count() <= 24, "more than a screen: {seen}");
        shed.assert_clean();
        // The next one is of the same bike, place and session, and all three are said before anything is typed.
        let mut again: Vec<(&str, &[u8])> = ZONES.into_iter().map(|zone| (zone, &b"r"[..])).collect();
        again.extend([
            ("session (return: heat 1):", &b"\n"[..]),
            ("best lap:", b"\n"),
            ("0.3 h:", b"\n"),
            ("notes:", b"again\n"),
            // In the same minute, so it is asked about.
            ("y: yes, return: no", b"y\n"),
        ]);
        let Played { seen, done, .. } = play(&shed, &["outing", "add"], &again);
        let head = ", Teal Pass, heat 1\nAs last today: bike, place and session.\n";
        assert!(done && seen.contains(head), "{seen}");
        let listed = shed.json(&["outing", "list", "moth"]);
        let sessions: Vec<_> =
            listed["outings"].as_array().unwrap().iter().map(|run| &run["session"]).collect();
        assert_eq!(sessions, ["heat 1", "heat 1"]);
    }

    #[test]
    fn what_was_otherwise_at_one_of_several_cylinders_is_asked_by_keys() {
        let shed = Shed::new();
        shed.run(&["bike", "new", "sanda", "--cylinders", "left,right"]).done();
        let setup = shed.root().join("bikes/sanda/setup.toml");
        std::fs::write(
            &setup,
            "engine = \"sanda-engine\"\n\n[jetting]\nmain = 172\nmain_numbered_by = \"bore\"\n",
        )
        .unwrap();
        shed.run(&["change", "sanda", "--why", "as it stands"]).done();
        let kept =
            ["air", "--place", "Teal Pass", "--temp", "18", "--baro", "985", "--humidity", "50", "--keep"];
        shed.run(&kept).done();
        let of_all: [&[u8]; 6] = [b"r", b"\r", b"\r", b"\r", b"\r", b"\r"];
        let of_one: [&[u8]; 6] = [b"l", b"\r", b"\r", b"\r", b"\r", b"\r"];
        let mut keys: Vec<(&str, &[u8])> = ZONES.into_iter().zip(of_all).collect();
        keys.extend([("otherwise at (left, right", &b"middle\n"[..]), ("otherwise at", &b"ri\n"[..])]);
        keys.extend(ZONES.into_iter().zip(of_one));
        keys.extend([("plug:", &b"white, specks\n"[..]), ("otherwise at", &b"\n"[..])]);
        keys.extend([("session:", &b"\n"[..]), ("best lap:", b"\n"), ("0.3 h:", b"\n"), ("notes:", b"\n")]);
        let Played { seen, done, lines } = play(&shed, &["outing", "add", "sanda"], &keys);
        assert!(done && lines, "{seen}");
        assert!(seen.contains("no: the cylinders are left, right."), "{seen}");
        assert!(seen.contains("full right; right: full lean"), "{seen}");
        let kept = shed.run(&["outing", "show", "sanda"]).done().out;
        assert!(kept.contains("white, specks"), "{kept}");
    }

    /// A lean run by keys with a main jet open that was recorded over 170, which ran; what is typed to the question of it.
    fn lean_with_a_jet_open(
        main: &str,
        answers: &[(&'static str, &'static [u8])],
    ) -> (String, serde_json::Value) {
        let shed = after_a_kept_air();
        shed.run(&["outing", "add", "moth", "full=right", "--at", "8:40", "--setup", "1", "--sure"]).done();
        shed.run(&["change", "moth", &format!("main={main}"), "--why", "tried"]).done();
        let mut keys: Vec<(&str, &[u8])> = vec![("full", b"l")];
        keys.extend(ZONES[1..].iter().map(|zone| (*zone, &b"\r"[..])));
        keys.extend([("session:", &b"\n"[..]), ("best lap:", b"\n"), ("0.3 h:", b"\n"), ("notes:", b"\n")]);
        keys.extend(answers);
        let Played { seen, done, .. } = play(&shed, &["outing", "add", "moth"], &keys);
        assert!(done, "{seen}");
        (seen, shed.json(&["outing", "list", "moth"])["outings"][0].clone())
    }

    #[test]
    fn return_is_a_whole_answer_to_what_is_still_open_and_where_it_is_none_it_is_asked_again() {
        let on_2 =
            |outing: &serde_json::Value| outing["setup"] == 2 && outing["doubted"] == serde_json::json!([]);
        let (seen, outing) = lean_with_a_jet_open("174", &[("return for no", b"\n")]);
        assert!(on_2(&outing) && !seen.contains("Never ticked"), "{seen} {outing}");
        // Lean on the larger jet would forbid more: that is said, not taken from silence.
        let (seen, outing) = lean_with_a_jet_open("168", &[("y or n", b"\n"), ("n: with", b"n\n")]);
        assert!(on_2(&outing) && !seen.contains("Never ticked"), "{seen} {outing}");
        let (seen, outing) = lean_with_a_jet_open("168", &[("y or n", b"y\n")]);
        assert!(outing["setup"] == 1 && !seen.contains("Never ticked"), "{seen} {outing}");
    }

    #[test]
    fn ctrl_c_records_nothing_and_gives_the_terminal_back() {
        let shed = after_a_kept_air();
        let before = shed.files();
        for keys in [&[("full", &b"\x03"[..])][..], &[("full", b"l"), ("3/4", b"l"), ("1/2", b"\x03")]] {
            let Played { seen, done, lines } = play(&shed, &["outing", "add", "moth"], keys);
            assert!(!done && lines && seen.contains("nothing was recorded"), "{seen}");
        }
        assert!(shed.json(&["outing", "list", "moth"])["outings"].as_array().unwrap().is_empty());
        let documents = |path: &&std::path::PathBuf| !path.starts_with(".git");
        assert!(shed.files().keys().filter(documents).eq(before.keys().filter(documents)));
    }

    #[test]
    fn an_air_that_is_not_kept_is_asked_and_a_slip_is_asked_again() {
        let shed = Shed::new();
        let mut keys: Vec<(&str, &[u8])> = vec![("place:", b"Teal Pass\n"), ("full", b"r")];
        keys.extend(ZONES[1..].iter().map(|zone| (*zone, &b"\r"[..])));
        keys.extend([
            ("return: none:", &b"19 1003\n"[..]),
            ("return: none:", b"19 985 5\n"),
            ("session:", b"\n"),
            ("best lap:", b"\n"),
            ("0.3 h:", b"\n"),
            ("notes:", b"\n"),
            ("type it again", b"\n"),
            ("return: none:", b"19 985 4\n"),
            ("type it again", b".\n"),
        ]);
        let Played { seen, done, .. } = play(&shed, &["outing", "add", "moth"], &keys);
        assert!(!done && seen.contains("air of a desert") && seen.contains("no: "), "{seen}");
        keys.truncate(keys.len() - 3);
        keys.push(("type it again", b"y\n"));
        let Played { seen, done, .. } = play(&shed, &["outing", "add", "moth"], &keys);
        assert!(done, "{seen}");
        let outing = &shed.json(&["outing", "list", "moth"])["outings"][0];
        assert_eq!(
            (outing["place"].as_str(), outing["air"]["read"]["humidity"].as_str()),
            (Some("Teal Pass"), Some("5 %"))
        );
        // What was questioned serves nothing that follows.
        assert!(!seen.contains("is kept"), "{seen}");
    }

    #[test]
    fn minutes_that_were_typed_as_hours_are_asked_at_their_line_and_nothing_else_is_lost() {
        let shed = after_a_kept_air();
        for time in ["8:40", "9:00", "9:20"] {
            let run = ["outing", "add", "moth", "full=right", "--setup", "1", "--hours", "12 min", "--sure"];
            shed.run(&[&run[..], &["--at", time, "--session", time]].concat()).done();
        }
        let mut keys: Vec<(&str, &[u8])> = vec![("full", b"r")];
        keys.extend(ZONES[1..].iter().map(|zone| (*zone, &b"\r"[..])));
        keys.extend([("session:", &b"heat 7\n"[..]), ("best lap:", b"1:0x\n"), ("best lap:", b"1:02.9\n")]);
        keys.extend([("0.3 h:", &b"12\n"[..]), ("type it again", b"\n"), ("0.3 h:", b"12 min\n")]);
        keys.push(("notes:", b"fine\n"));
        let Played { seen, done, .. } = play(&shed, &["outing", "add", "moth"], &keys);
        assert!(done && seen.contains("is it a typing mistake?") && seen.contains("is not a time"), "{seen}");
        let outing = &shed.json(&["outing", "list", "moth"])["outings"][0];
        let said = ["session", "lap", "notes"].map(|field| outing[field].as_str());
        assert_eq!(said, [Some("heat 7"), Some("1:02.9"), Some("fine")], "{outing}");
    }

    #[test]
    fn an_air_that_is_typed_there_serves_what_follows() {
        let shed = Shed::new();
        let mut keys: Vec<(&str, &[u8])> = vec![("place:", b"Teal Pass\n"), ("full", b"r")];
        keys.extend(ZONES[1..].iter().map(|zone| (*zone, &b"\r"[..])));
        let rest: [(&str, &[u8]); 5] = [
            ("return: none:", b"19 985 55\n"),
            ("session:", b"\n"),
            ("best lap:", b"\n"),
            ("0.3 h:", b"\n"),
            ("notes:", b"\n"),
        ];
        keys.extend(rest);
        let Played { seen, done, .. } = play(&shed, &["outing", "add", "moth"], &keys);
        assert!(done && seen.contains("This air is kept at Teal Pass until"), "{seen}");
        let next = shed.json(&["air"]);
        assert_eq!(
            (&next["station_pressure_hpa"], &next["kept"]["place"]),
            (&985.0.into(), &"Teal Pass".into())
        );
    }
}

#[test]
fn nobody_is_asked_where_nobody_sits() {
    let shed = Shed::new();
    for words in [&["outing", "add"][..], &["outing", "add", "moth"]] {
        let refused = shed.run(words).refused();
        assert!(refused.contains("No verdict yet") && refused.contains("full=right"), "{refused}");
    }
}

#[test]
fn airs_that_two_clones_kept_at_one_place_merge() {
    let shed = Shed::new();
    let keep = |day: &str, temp: &str, humidity: &str| {
        let words = [
            "air",
            "--place",
            "Teal Pass",
            "--temp",
            temp,
            "--baro",
            "985",
            "--humidity",
            humidity,
            "--keep",
        ];
        shed.run_on(day, &words).done();
    };
    keep("2026-05-16T09:00+02:00", "16", "60");
    shed.git(&["branch", "other"]);
    keep("2026-05-16T09:30+02:00", "17", "58");
    shed.git(&["checkout", "-q", "other"]);
    keep("2026-05-16T09:45+02:00", "18", "58");
    shed.git(&["merge", "-q", "--no-edit", "main"]);
    let place = shed.read("places/teal-pass.toml");
    assert_eq!(place.matches("date = ").count(), 3, "{place}");
    assert_eq!(shed.json(&["air"])["kept"]["date"], "2026-05-16T09:45+02:00");
    shed.assert_sound();
}

#[test]
fn a_bike_is_meant_before_a_zone_of_its_name() {
    let shed = Shed::new();
    shed.run(&["outing", "add", "moth", "full=right", "--place", "Teal Pass"]).done();
    let said = shed.run(&["outing", "add", "half=rich"]).done().out;
    assert!(said.contains("moth: outing") && said.contains("bike and place as last today"), "{said}");
    shed.run(&["bike", "new", "half"]).done();
    let refused = shed.run(&["outing", "add", "half", "full=right"]).refused();
    assert!(!refused.contains("verdict"), "the bike \"half\" is taken for a throttle: {refused}");
    shed.run(&["bike", "new", "outing"]).done();
    let refused = shed.run(&["outing", "add", "outing"]).refused();
    assert!(refused.contains("reedbook outing add outing full=right"), "{refused}");
}

#[test]
fn what_is_no_place_leaves_no_file() {
    let shed = Shed::new();
    let air = ["--temp", "18", "--baro", "985", "--humidity", "50", "--keep"];
    for place in ["../bikes", "a\\b", "Teal\u{1b}[2J", "Teal\nPass", "\u{202e}", "...", ""] {
        let words: Vec<&str> = ["air", "--place", place].into_iter().chain(air).collect();
        let refused = shed.run(&words).refused();
        assert!(refused.contains("place") && !refused.contains('\u{1b}'), "{place:?}: {refused}");
    }
    assert!(!shed.root().join("places").exists());
    // A name of the system's is none here.
    let words: Vec<&str> = ["air", "--place", "CON"].into_iter().chain(air).collect();
    shed.run(&words).done();
    assert!(shed.root().join("places/at-con.toml").is_file());
    shed.assert_sound();
}
