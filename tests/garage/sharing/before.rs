//! What was before is always to be had again by the program alone: before a share, before a merge that git left open, before a file held
//! both sides of one.

use std::cell::RefCell;
use std::fs;
use std::rc::Rc;

use reedbook::machine::Moment;
use reedbook::notebook::When;
use reedbook::store::{Garage, ShareRequest, share};

use super::Yard;
use crate::common::in_a_line;

/// A part and two runs that both sides have.
fn with_a_part() -> (Yard, [String; 2]) {
    let yard = Yard::new();
    yard.done("shop", "16T10", &["part", "add", "ring-1", "--kind", "ring", "--title", "Ring"]);
    let runs = ["16T11", "16T12"].map(|time| {
        yard.json("shop", time, &["outing", "add", "wasp", "full=right"])["outing"]["id"]
            .as_str()
            .unwrap()
            .to_owned()
    });
    yard.done("shop", "16T13", &["share"]);
    yard.done("track", "16T14", &["share"]);
    (yard, runs)
}

#[test]
fn what_was_here_before_a_share_is_shown_and_comes_back() {
    let (yard, [lean, gone]) = with_a_part();
    let said = yard.done("shop", "16T15", &["share", "--before"]);
    assert!(said.contains("Nothing of others was ever brought here"), "{said}");
    yard.done("track", "16T16", &["part", "edit", "ring-1", "title=Rings, a set"]);
    yard.done("track", "16T17", &["outing", "remove", "wasp", &gone]);
    yard.done("track", "16T18", &["outing", "edit", "wasp", &lean, "full=lean"]);
    yard.done("track", "16T19", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard.done("track", "16T20", &["share"]);
    let part = yard.read("shop", "parts/ring-1.toml");
    let said = in_a_line(&yard.done("shop", "17T10", &["share"]));
    assert!(said.contains("reedbook share --before"), "{said}");
    let said = in_a_line(&yard.done("shop", "17T11", &["share", "--before"]));
    for wanted in [
        "moth: setup 1 before, 2 now reedbook rollback moth 1",
        "parts/ring-1.toml was changed title: \"Ring\" → \"Rings, a set\" reedbook share --put-back parts/ring-1.toml",
        &format!("{gone}.toml was taken out"),
    ] {
        assert!(said.contains(wanted), "{wanted}: {said}");
    }
    // What is written here since stays.
    yard.done("shop", "17T12", &["part", "edit", "ring-1", "notes=seen"]);
    yard.done("shop", "17T13", &["share", "--put-back", "parts/ring-1.toml"]);
    let back = yard.read("shop", "parts/ring-1.toml");
    assert!(back.contains("\"Ring\"") && back.contains("seen"), "{back}");
    assert!(part.contains("\"Ring\""), "{part}");
    let file = |id: &str| {
        let names = yard.json("shop", "17T14", &["share", "--before"]);
        let all =
            names["documents"].as_array().unwrap().iter().map(|one| one["file"].as_str().unwrap().to_owned());
        all.into_iter().find(|file| file.contains(id)).unwrap()
    };
    let gone_file = file(&gone);
    yard.done("shop", "17T15", &["share", "--put-back", &gone_file]);
    assert!(yard.at("shop").join(&gone_file).is_file());
    // A lean run is not let go so.
    let refused = in_a_line(&yard.run("shop", "17T17", &["share", "--put-back", &file(&lean)]).refused());
    assert!(refused.contains("says that the run was lean") && refused.contains("--cause"), "{refused}");
    for (named, wanted) in [
        ("bikes/moth/setup.toml", "is part of a setup"),
        ("parts/ring-2.toml", "was not here before"),
        ("../private.toml", "is none of a garage's documents"),
    ] {
        let refused = in_a_line(&yard.run("shop", "17T18", &["share", "--put-back", named]).refused());
        assert!(refused.contains(wanted), "{named}: {refused}");
    }
    yard.done("shop", "17T19", &["share"]);
    yard.done("track", "17T20", &["share"]);
    yard.assert_one(&["shop", "track"]);
}

/// What both sides wrote into one part by plain git, its merge recorded with both in the file.
fn with_both_sides_in(yard: &Yard, file: &str, [ours, theirs]: [(&str, &str); 2]) {
    let put = |side: &str, (from, to): (&str, &str)| {
        let place = yard.at(side).join(file);
        let text = fs::read_to_string(&place).unwrap();
        assert!(text.contains(from), "{from}: {text}");
        fs::write(&place, text.replacen(from, to, 1)).unwrap();
        yard.shed.git_in(&yard.at(side), &["commit", "-qam", "by hand"]).done();
    };
    put("track", theirs);
    yard.shed.git_in(&yard.at("track"), &["push", "-q"]).done();
    put("shop", ours);
    yard.shed.git_in(&yard.at("shop"), &["pull", "-q", "--no-rebase"]);
    assert!(yard.read("shop", file).contains("<<<<<<<"), "{}", yard.read("shop", file));
}

#[test]
fn a_file_with_both_sides_in_it_is_mended_field_by_field() {
    let (yard, _) = with_a_part();
    let file = "parts/ring-1.toml";
    let both = [
        ("title = \"Ring\"", "title = \"Ring\"\nnotes = \"ours\""),
        ("title = \"Ring\"", "title = \"Rings\"\nmaker = \"x\""),
    ];
    with_both_sides_in(&yard, file, both);
    yard.shed.git(&["commit", "-qam", "oops"]);
    let said = in_a_line(&yard.run("shop", "17T10", &["garage", "check"]).out);
    assert!(said.contains(&format!("reedbook garage fix {file}")), "{said}");
    let refused = in_a_line(&yard.run("shop", "17T11", &["share"]).refused());
    assert!(refused.contains(&format!("reedbook garage fix {file}")), "{refused}");
    yard.done("shop", "17T12", &["garage", "fix", file]);
    let text = yard.read("shop", file);
    assert!(text.contains("\"Rings\"") && text.contains("\"ours\"") && !text.contains("<<<<"), "{text}");
    let said = in_a_line(&yard.done("shop", "17T13", &["garage", "fix", file]));
    assert!(said.contains("can be read"), "{said}");
    yard.done("shop", "17T14", &["share"]);
    yard.done("track", "17T15", &["share"]);
    assert_eq!(yard.head("shop"), yard.head("track"));
}

#[test]
fn a_field_that_both_changed_is_said_and_a_lean_run_stays_lean() {
    let (yard, [run, _]) = with_a_part();
    let place = yard.shed.git(&["ls-files", &format!("bikes/wasp/outings/*{run}*")]);
    let file = place.trim();
    let both = [("\"right\"", "\"rich\""), ("\"right\"", "\"lean\"")];
    with_both_sides_in(&yard, file, both);
    yard.shed.git(&["commit", "-qam", "oops"]);
    let refused = in_a_line(
        &yard
            .run("shop", "17T10", &["rejet", "wasp", "--temp", "20", "--baro", "1000", "--humidity", "50"])
            .refused(),
    );
    assert!(refused.contains(&format!("reedbook garage fix {file}")), "{refused}");
    yard.done("shop", "17T11", &["garage", "fix", file]);
    assert!(yard.read("shop", file).contains("\"lean\""), "{}", yard.read("shop", file));
    // The garage's own file, too, without which nothing else is answered.
    let own = ["ours", "theirs"]
        .map(|name| ("units = \"metric\"", format!("units = \"metric\"\nname = \"{name}\"")));
    yard.done("shop", "17T12", &["share"]);
    yard.done("track", "17T13", &["share"]);
    let own = [(own[0].0, own[0].1.as_str()), (own[1].0, own[1].1.as_str())];
    with_both_sides_in(&yard, "garage.toml", own);
    yard.shed.git(&["commit", "-qam", "oops"]);
    let refused = in_a_line(&yard.run("shop", "17T14", &["now"]).refused());
    assert!(refused.contains("reedbook garage fix garage.toml"), "{refused}");
    let said = in_a_line(&yard.done("shop", "17T15", &["garage", "fix", "garage.toml"]));
    assert!(said.contains("name: \"ours\" stands; the other side had \"theirs\""), "{said}");
    yard.done("shop", "17T16", &["now"]);
}

#[test]
fn a_merge_that_git_left_open_is_ended_by_the_program() {
    let (yard, _) = with_a_part();
    let file = "parts/ring-1.toml";
    let said = in_a_line(&yard.done("shop", "16T15", &["garage", "fix"]));
    assert!(said.contains("No merge of git is under way"), "{said}");
    let before = yard.read("shop", file);
    with_both_sides_in(&yard, file, [("\"Ring\"", "\"ours\""), ("\"Ring\"", "\"theirs\"")]);
    // What nobody merged is nobody's to put back.
    fs::write(yard.at("shop").join("notes.txt"), "mine").unwrap();
    let refused = in_a_line(&yard.run("shop", "17T10", &["share"]).refused());
    assert!(refused.contains("reedbook garage fix"), "{refused}");
    yard.done("shop", "17T11", &["garage", "fix"]);
    assert_eq!(yard.read("shop", file), before.replace("\"Ring\"", "\"ours\""));
    assert_eq!(yard.shed.git(&["status", "--porcelain"]).trim(), "?? notes.txt");
    let asked = in_a_line(&yard.run("shop", "17T12", &["share"]).out);
    assert!(asked.contains("Both sides changed parts/ring-1.toml"), "{asked}");
}

/// Who waits for thousands of files is told how far it has come.
#[test]
fn many_files_are_told_while_they_come() {
    let yard = Yard::new();
    let places = yard.at("track").join("places");
    fs::create_dir_all(&places).unwrap();
    for number in 0..120 {
        fs::write(places.join(format!("p{number}.toml")), format!("elevation = \"{number} m\"\n")).unwrap();
    }
    yard.shed.git_in(&yard.at("track"), &["add", "-A"]).done();
    yard.shed.git_in(&yard.at("track"), &["commit", "-qm", "places"]).done();
    yard.shed.git_in(&yard.at("track"), &["push", "-q"]).done();
    let told = Rc::new(RefCell::new(Vec::new()));
    let hears = Rc::clone(&told);
    let garage = Garage::open(&yard.at("shop")).unwrap();
    let garage =
        garage.heard_by(Box::new(move |what, done, of| hears.borrow_mut().push((what.to_owned(), done, of))));
    let now = When::parse("2026-05-16T12:00+02:00", jiff::tz::Offset::UTC).unwrap();
    share(&garage, &ShareRequest::default(), &Moment { now, seed: Some("told".into()) }).unwrap();
    let told = told.borrow();
    let written: Vec<_> = told.iter().filter(|(what, _, of)| what == "writing files" && *of == 120).collect();
    assert!(written.len() > 1 && written.last().is_some_and(|(_, done, _)| *done == 120), "{told:?}");
    assert!(told.iter().any(|(what, _, _)| what == "bringing"), "{told:?}");
}
