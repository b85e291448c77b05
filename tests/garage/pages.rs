//! Sheets as a browser gets them: one file that loads nothing and runs nothing, whatever stands in a note, with the answer that the
//! command gives.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use crate::replayed::{demo_in, temporary_folder};

const AIR: [&str; 6] = ["--temp", "18", "--baro", "1002", "--humidity", "60"];

fn reedbook(garage: &Path, words: &[&str]) -> Output {
    let home = garage.parent().unwrap();
    fs::write(home.join(".gitconfig"), "[user]\n\tname = Ana\n\temail = ana@example.org\n").unwrap();
    Command::new(env!("CARGO_BIN_EXE_reedbook"))
        .args(words)
        .current_dir(garage)
        .env("HOME", home)
        .env("GIT_CONFIG_GLOBAL", home.join(".gitconfig"))
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("REEDBOOK_NOW", "2026-11-28T12:31+01:00")
        .env_remove("COLUMNS")
        .output()
        .unwrap()
}

fn done(garage: &Path, words: &[&str]) -> String {
    let out = reedbook(garage, words);
    assert!(out.status.success(), "{words:?}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

/// Text without tags, as somebody reads it.
fn read(page: &str) -> String {
    let mut text = String::new();
    let mut in_tag = false;
    for c in page.chars() {
        match c {
            '<' => in_tag = true,
            '>' => in_tag = false,
            c if !in_tag => text.push(c),
            _ => {}
        }
    }
    text.replace("&gt;", ">").replace("&lt;", "<").replace("&quot;", "\"").replace("&amp;", "&")
}

/// What stands between angle brackets.
fn tags(page: &str) -> Vec<&str> {
    page.split('<').skip(1).filter_map(|rest| rest.split('>').next()).collect()
}

#[test]
fn a_sheet_loads_nothing_runs_nothing_and_says_what_rejet_says() {
    let folder = temporary_folder();
    let garage = folder.path().join("demo");
    demo_in(&garage);
    done(
        &garage,
        &[
            "outing",
            "add",
            "moth",
            "full=right",
            "--date",
            "2026-11-20 10:00",
            "--hours",
            "0.3",
            "--sure",
            "--temp",
            "14",
            "--baro",
            "1004",
            "--humidity",
            "60",
            "--place",
            "<b>Fenn</b>",
            "--note",
            "</td><script>alert(1)</script><img src=x onerror=alert(1)>",
        ],
    );
    for bike in ["moth", "ibex", "wren"] {
        done(&garage, &[&["sheet", bike, "--against", "3"][..], &AIR].concat());
        let page = fs::read_to_string(garage.join(format!("{bike}.html"))).unwrap();
        loads_nothing(bike, &page);
        assert!(tags(&page).iter().any(|tag| tag.starts_with("svg ")), "{bike}");
        let rejet = done(&garage, &[&["rejet", bike][..], &AIR].concat());
        let first = rejet.lines().find(|line| line.starts_with(&format!("{bike}: "))).unwrap();
        let first = first.split(',').next().unwrap();
        assert!(read(&page).contains(first.trim_end()), "{bike}: {first}\n{}", read(&page));
        assert!(read(&page).contains("throw its rider"), "{bike}");
    }
    let moth = fs::read_to_string(garage.join("moth.html")).unwrap();
    assert!(read(&moth).contains("<script>alert(1)</script>"), "the note stands as it was written");
}

/// Nothing in a page is loaded or run.
fn loads_nothing(name: &str, page: &str) {
    assert!(page.starts_with("<!DOCTYPE html>"), "{name}");
    assert!(page.len() < 200_000, "{name}: {} bytes", page.len());
    let tags = tags(page);
    assert!(tags.len() > 100, "{name}");
    for tag in &tags {
        let named = tag.split([' ', '/']).next().unwrap();
        assert!(
            !["script", "img", "link", "iframe", "object", "image", "use"].contains(&named),
            "{name}: {tag}"
        );
        for loads in [" src=", " href=", " onload=", " onerror=", "url("] {
            assert!(!tag.contains(loads), "{name}: {tag}");
        }
    }
    let style = page.split("<style>").nth(1).unwrap().split("</style>").next().unwrap();
    assert!(!style.contains("url(") && !style.contains("@import"), "{name}");
    assert!(!page.contains("NaN") && !page.contains("inf\""), "{name}");
}

#[test]
fn a_build_a_card_and_the_van_load_nothing_and_say_what_the_commands_say() {
    let folder = temporary_folder();
    let garage = folder.path().join("demo");
    demo_in(&garage);
    let hostile = "</td><script>alert(1)</script><img src=x onerror=alert(1)>";
    let page = |words: &[&str], file: &str| {
        done(&garage, words);
        let page = fs::read_to_string(garage.join(file)).unwrap();
        loads_nothing(file, &page);
        page
    };
    let card = page(
        &["sheet", "card", "moth", "--temps", "5 C, 25 C", "--elevations", "0 m, 1500 m"],
        "moth-card.html",
    );
    let told = done(
        &garage,
        &["rejet", "moth", "--card", "--temps", "5 C, 25 C", "--elevations", "0 m, 1500 m", "--csv"],
    );
    let mains: Vec<&str> = told.lines().skip(1).filter_map(|line| line.split(',').nth(3)).collect();
    assert_eq!(mains.len(), 4, "{told}");
    assert!(
        read(&card).contains("take all of the one with the larger main jet"),
        "air screws go the other way"
    );
    for main in mains {
        assert!(card.contains(&format!("<b>{main}</b>")), "{main}: {card}");
    }
    done(&garage, &["build", "new", "cicada", "--scope", "whole", "--why", hostile, "--by", hostile]);
    done(&garage, &["build", "tick", "cicada", "circlips", "--by", hostile, "--note", hostile]);
    let build = page(&["sheet", "build", "cicada"], "cicada-build.html");
    assert!(read(&build).contains(hostile) && read(&build).contains("cicada: NOT READY"));
    let customer = page(&["sheet", "build", "cicada", "--for-customer"], "cicada-customer.html");
    assert!(!read(&customer).contains("Rag out, bore and piston oiled"), "what a step says is the builder's");
    assert!(
        read(&customer).contains("Nothing forced: a ring off its pin breaks"),
        "and what can hurt is everybody's"
    );
    // Measured in inches: said in inches; and what was in it then is no life of today.
    let measured = read(&page(&["sheet", "build", "finch"], "finch-build.html"));
    assert!(measured.contains("Readings at 20 C, in inches"), "{measured}");
    assert!(measured.contains("In it, with the hours it had when it was built"), "{measured}");
    let wanted = read(&page(&["sheet", "build", "cicada", "--units", "imperial"], "cicada-build.html"));
    assert!(wanted.contains("Readings at 20 C, in inches"), "{wanted}");
    done(&garage, &["change", "moth", &format!("head.plug={hostile}"), "--why", hostile, "--sure"]);
    let van = page(&["sheet", "van"], "van.html");
    assert!(read(&van).contains(hostile) && read(&van).contains("reed: buy, for reed-1"), "{}", read(&van));
}

#[test]
fn an_air_that_nobody_races_in_gets_no_jets_on_paper_unless_it_is_said_to_be_right() {
    let folder = temporary_folder();
    let garage = folder.path().join("demo");
    demo_in(&garage);
    let words = ["sheet", "moth", "--temp", "60", "--baro", "1002", "--humidity", "20"];
    let page = |words: &[&str]| {
        done(&garage, words);
        read(&fs::read_to_string(garage.join("moth.html")).unwrap())
    };
    let asked = page(&words);
    assert!(asked.contains("60 C") && !asked.contains("--sure") && !asked.contains("moth: FIT"), "{asked}");
    assert!(page(&[&words[..], &["--sure"]].concat()).contains("moth: FIT"));
}

#[test]
fn a_job_that_the_book_holds_to_be_wrong_says_so_itself() {
    let folder = temporary_folder();
    let garage = folder.path().join("demo");
    demo_in(&garage);
    done(&garage, &["rollback", "moth", "35", "--despite", "back to what went well"]);
    done(&garage, &["sheet", "moth"]);
    let page = fs::read_to_string(garage.join("moth.html")).unwrap();
    let jobs = page.split("<ul class=\"boxes\">").nth(1).unwrap().split("</ul>").next().unwrap();
    let jobs: Vec<String> = jobs.split("</li>").map(read).collect();
    let of = |what: &str| jobs.iter().find(|job| job.contains(what)).unwrap();
    assert!(of("main").contains("!! rejet first: main 178 → 170"), "{jobs:?}");
    assert!(!of("base gasket").contains("!!"), "{jobs:?}");
}

#[test]
fn a_file_that_is_no_sheet_is_left_as_it_is() {
    let folder = temporary_folder();
    let garage = folder.path().join("demo");
    demo_in(&garage);
    let page = folder.path().join("mine.html");
    let to = page.to_str().unwrap();
    let words = [&["sheet", "moth", "--to", to][..], &AIR].concat();
    fs::write(&page, "my own page").unwrap();
    let out = reedbook(&garage, &words);
    assert_eq!(out.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&out.stderr).contains("is not a sheet"));
    assert_eq!(fs::read_to_string(&page).unwrap(), "my own page");
    fs::remove_file(&page).unwrap();
    done(&garage, &words);
    let first = fs::read_to_string(&page).unwrap();
    done(&garage, &[&words[..], &["--small"]].concat());
    assert_ne!(fs::read_to_string(&page).unwrap(), first, "a sheet is written anew");
}

#[test]
fn each_drawing_can_be_had_alone_and_a_new_bike_has_a_sheet_that_says_what_is_missing() {
    let folder = temporary_folder();
    let garage = folder.path().join("demo");
    demo_in(&garage);
    for drawing in ["spark", "ports", "package", "jets", "season"] {
        let svg = done(&garage, &[&["sheet", "moth", "--svg", drawing][..], &AIR].concat());
        assert!(svg.starts_with("<svg role=\"img\" aria-label="), "{drawing}");
        assert!(svg.trim_end().ends_with("</svg>") && !svg.contains("NaN"), "{drawing}");
        // Sent by itself it needs no page to be read.
        let words = read(&svg.replace("</text>", " </text>"));
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        for says in ["moth, setup 38, ", "2026-11-28", drawing.trim_end_matches('s')] {
            assert!(words.contains(says), "{drawing} has no {says}: {words}");
        }
        let key = match drawing {
            "spark" => "before top dead centre",
            "ports" => "Solid: exhaust",
            "package" => "hatched: goes on past",
            "jets" => "Line: what to fit",
            _ => "× not judged",
        };
        assert!(words.contains(key), "{drawing} has no {key}: {words}");
    }
    // Of a twin each picture in which the cylinders differ says whose it is, and none takes the place of the other's; what is the same at
    // both is of no one.
    let of_one = |more: &[&str]| done(&garage, &[&["sheet", "otter", "--svg", "package"][..], more].concat());
    assert!(of_one(&[]).contains(", cylinder left, "));
    assert!(of_one(&["--cylinder", "right"]).contains(", cylinder right, "));
    for bike in ["moth", "otter"] {
        assert!(!done(&garage, &["sheet", bike, "--svg", "ports"]).contains("cylinder"), "{bike}");
    }
    for (more, file) in
        [(&[][..], "otter-package-left.png"), (&["--cylinder", "right"], "otter-package-right.png")]
    {
        done(&garage, &[&["sheet", "otter", "--png", "package"][..], more].concat());
        assert!(garage.join(file).is_file(), "{file}");
    }
    done(&garage, &["bike", "new", "wasp"]);
    done(&garage, &["sheet", "wasp"]);
    let page = read(&fs::read_to_string(garage.join("wasp.html")).unwrap());
    for said in ["nothing recorded", "Not drawn", "Not known"] {
        assert!(page.contains(said), "{said}: {page}");
    }
    let out = reedbook(&garage, &["sheet", "wasp", "--svg", "season"]);
    assert_eq!(out.status.code(), Some(1));
}

#[test]
fn the_sheet_of_a_twin_says_both_cylinders_on_one_page_and_of_one_where_that_is_asked() {
    let folder = temporary_folder();
    let garage = folder.path().join("demo");
    demo_in(&garage);
    let files = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scenarios/files");
    done(&garage, &["bike", "new", "sanda", "--cylinders", "left,right"]);
    fs::copy(files.join("twin-setup.toml"), garage.join("bikes/sanda/setup.toml")).unwrap();
    fs::copy(files.join("twin-engine.toml"), garage.join("engines/sanda-engine/engine.toml")).unwrap();
    done(&garage, &["change", "sanda", "--why", "as it stands"]);
    done(&garage, &[&["outing", "add", "sanda", "full=right"][..], &AIR].concat());
    done(&garage, &[&["sheet", "sanda"][..], &AIR].concat());
    let page = fs::read_to_string(garage.join("sanda.html")).unwrap();
    let said = read(&page);
    for words in ["left main", "right main", "Ports"] {
        assert!(said.contains(words), "{words}: {said}");
    }
    // What is the same at both is drawn of no one.
    assert!(!said.contains("Ports, cylinder"), "{said}");
    for name in ["left", "right"] {
        assert_eq!(
            said.matches(&format!("Main jet and air, cylinder {name}")).count(),
            1,
            "a drawing each: {said}"
        );
    }
    done(&garage, &[&["sheet", "sanda", "--cylinder", "right", "--to", "right.html"][..], &AIR].concat());
    let said = read(&fs::read_to_string(garage.join("right.html")).unwrap());
    assert!(said.contains("sanda, cylinder right") && !said.contains("cylinder left"), "{said}");
    let out = reedbook(&garage, &["sheet", "sanda", "--cylinder", "rigth"]);
    assert!(String::from_utf8_lossy(&out.stderr).contains("The cylinders are left, right."));
}
