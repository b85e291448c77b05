//! Branches, merges and cherry-picks by plain git: no setup is lost or told twice, no number moves once it is written, and
//! the newest setup is always what the newest commit holds.

use std::fs;

use super::common::{Shed, in_a_line, setup_file};
use super::numbers;

/// Two setups were recorded on each of two branches: both sides took the numbers 2 and 3.
fn two_sides() -> Shed {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.run_on("2026-05-17T10:00+02:00", &["change", "moth", "ignition.base=14", "--why", "side two"])
        .done();
    shed.run_on("2026-05-19T10:00+02:00", &["change", "moth", "ignition.base=13", "--why", "side three"])
        .done();
    shed.git(&["checkout", "-q", "main"]);
    shed.run_on("2026-05-18T10:00+02:00", &["change", "moth", "gearing.rear=41", "--why", "main two"]).done();
    shed.run_on("2026-05-20T10:00+02:00", &["change", "moth", "gearing.rear=42", "--why", "main three"])
        .done();
    shed
}

/// What a merge of the two sides must tell: those of main keep their numbers, and the merge itself is a setup.
const TWO_SIDES: [&str; 6] =
    ["1 as bought", "4 side two", "2 main two", "5 side three", "3 main three", "6 merged"];

#[test]
fn a_merge_of_two_sides_loses_no_setup_and_the_first_line_keeps_its_number() {
    let shed = two_sides();
    shed.git(&["merge", "-q", "side", "-m", "merged"]);
    assert_eq!(shed.story("moth"), TWO_SIDES);
    let values = shed.read(&setup_file("moth"));
    assert!(values.contains("base = 13") && values.contains("rear = 42"), "{values}");
    shed.assert_clean();
    fs::remove_file(shed.root().join(".git/reedbook/index.sqlite")).unwrap();
    assert_eq!(shed.story("moth"), TWO_SIDES, "a fresh index gives other numbers");

    shed.run_on(
        "2026-05-21T10:00+02:00",
        &["change", "moth", "jetting.main=180", "--sure", "--why", "after"],
    )
    .done();
    let story: Vec<_> = TWO_SIDES.iter().copied().chain(["7 after"]).collect();
    assert_eq!(shed.story("moth"), story);
    let written: Vec<_> =
        numbers(&shed, "moth").iter().map(|line| line.split(' ').next().unwrap().to_owned()).collect();
    assert_eq!(
        written,
        ["1", "2", "3", "4", "5", "6", "7", "2", "3"],
        "what was taken twice is not settled yet"
    );
    shed.assert_clean();
    shed.assert_sound();
}

/// A number that two took means neither without a question, until the line of one says so.
#[test]
fn a_number_that_two_took_is_asked_about_by_reason_and_author() {
    let shed = two_sides();
    shed.git(&["merge", "-q", "side", "-m", "merged"]);
    let history = shed.run(&["history", "moth"]).done().out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(history.contains("Setup 2 of moth is two: \"main two\" by Ana on 2026-05-18"), "{history}");
    let asked: [&[&str]; 6] = [
        &["rollback", "moth", "2"],
        &["proven", "moth", "2"],
        &["outing", "add", "moth", "full=right", "--setup", "2", "--sure"],
        &["rejet", "moth", "--baseline", "2", "--temp", "20", "--baro", "1000", "--humidity", "50"],
        &["compare", "moth", "2", "1"],
        &["show", "moth", "2"],
    ];
    for words in asked {
        let said = in_a_line(&shed.run_on("2026-05-22T10:00+02:00", words).refused());
        assert!(said.contains("\"side two\" by Ana on 2026-05-17, which is 4 here"), "{said}");
        assert!(said.contains("Name 4 if that one is meant"), "{said}");
    }
    shed.run_on("2026-05-22T10:00+02:00", &["rollback", "moth", "4", "--despite", "it ran so"]).done();
    assert_eq!(
        shed.story("moth")[..6],
        TWO_SIDES,
        "a setup that was recorded since settles nothing by the way"
    );
    shed.run_on("2026-05-22T11:00+02:00", &["rollback", "moth", "2"]).refused();

    let lines = numbers(&shed, "moth");
    let doubled = lines.iter().rfind(|line| line.starts_with("2 ")).unwrap().clone();
    let id = doubled.strip_prefix("2 ").unwrap();
    let said = in_a_line(&shed.run(&["history", "moth"]).done().out);
    let settled = format!("4 {id} was 2");
    assert!(
        said.contains(&format!("the line `{doubled}` of bikes/moth/numbers reads `{settled}`")),
        "{said}"
    );
    let lines: String = lines
        .iter()
        .map(|line| if *line == doubled { format!("{settled}\n") } else { format!("{line}\n") })
        .collect();
    shed.write("bikes/moth/numbers", lines);
    shed.run_on("2026-05-22T12:00+02:00", &["rollback", "moth", "2", "--despite", "it ran so"]).done();
    let history = shed.run(&["history", "moth"]).done().out;
    assert!(
        !history.contains("Setup 2 of moth is two") && history.contains("Setup 3 of moth is two"),
        "{history}"
    );
    assert_eq!(shed.story("moth")[..6], TWO_SIDES);
    shed.assert_clean();
    shed.assert_sound();
}

/// The same where git was not told how to merge the numbers, and someone left both sides' lines in the file.
#[test]
fn numbers_that_were_merged_by_hand_are_understood() {
    let shed = two_sides();
    let _ = fs::remove_file(shed.root().join(".gitattributes"));
    let merge = shed.git_in(&shed.root(), &["merge", "side", "-m", "merged"]);
    assert_eq!(merge.code, Some(1), "the numbers did not conflict");
    assert_eq!(shed.story("moth").len(), 3, "a merge that is under way is not recorded yet");
    let both: String = shed
        .read("bikes/moth/numbers")
        .lines()
        .filter(|line| !line.starts_with(['<', '=', '>']))
        .map(|line| format!("{line}\n"))
        .collect();
    assert_eq!(both.lines().count(), 5);
    shed.write("bikes/moth/numbers", both);
    shed.git(&["commit", "-q", "-a", "-m", "merged"]);
    assert_eq!(shed.story("moth"), TWO_SIDES);
    shed.run_on(
        "2026-05-21T10:00+02:00",
        &["change", "moth", "jetting.main=180", "--sure", "--why", "after"],
    )
    .done();
    assert_eq!(shed.story("moth")[..6], TWO_SIDES);
    shed.assert_clean();
    shed.assert_sound();
}

#[test]
fn a_merge_that_keeps_one_side_makes_that_side_the_newest() {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.run_on("2026-05-17T10:00+02:00", &["change", "moth", "ignition.base=14", "--why", "an experiment"])
        .done();
    shed.git(&["checkout", "-q", "main"]);
    shed.git(&["merge", "-q", "--no-ff", "-s", "ours", "side", "-m", "not kept"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 an experiment", "3 not kept"]);
    let compared = shed.json(&["compare", "moth", "latest", "now"]);
    assert_eq!(compared["changes"].as_array().map(Vec::len), Some(0), "{compared:#}");
    shed.run(&["garage", "check"]).done();
}

#[test]
fn a_comment_on_a_branch_is_no_setup_after_the_merge_either() {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.commit_edit(&setup_file("moth"), "# the big one", "# the biggest", "a comment");
    shed.git(&["checkout", "-q", "main"]);
    shed.run_on("2026-05-15T10:00+02:00", &["change", "moth", "gearing.rear=42", "--why", "shorter"]).done();
    shed.git(&["merge", "-q", "side", "-m", "merged"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 shorter"]);
    shed.run(&["garage", "check"]).done();
}

#[test]
fn a_cherry_picked_setup_is_known_once_by_its_identity() {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.run(&["change", "moth", "ignition.base=14", "--why", "softer"]).done();
    let id = shed.setups("moth")[0].id.clone();
    shed.run(&["outing", "add", "moth", "full=right"]).done();
    shed.git(&["checkout", "-q", "main"]);
    shed.git(&["commit", "-q", "--allow-empty", "-m", "nothing"]);
    shed.git(&["cherry-pick", "-x", "side~1"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 softer"]);
    assert_eq!(shed.setups("moth")[0].id, id);
    shed.git(&["merge", "-q", "side", "-m", "merged"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 softer"]);
    let outing = shed.json(&["outing", "show", "moth"]);
    assert_eq!(outing["setup"], 2, "{outing:#}");
    shed.run(&["change", "moth", "ignition.base=13", "--why", "softer still"]).done();
    assert_eq!(shed.story("moth"), ["1 as bought", "2 softer", "3 softer still"]);
    shed.assert_clean();
    shed.assert_sound();
}

/// Picked onto other values it is another combination, which cannot have the same identity.
#[test]
fn a_setup_picked_onto_another_one_is_a_setup_of_its_own() {
    let shed = Shed::new();
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.run_on("2026-05-17T10:00+02:00", &["change", "moth", "ignition.base=14", "--why", "softer"]).done();
    let id = shed.setups("moth")[0].id.clone();
    shed.git(&["checkout", "-q", "main"]);
    shed.run_on("2026-05-18T10:00+02:00", &["change", "moth", "gearing.rear=42", "--why", "shorter"]).done();
    shed.git_on("2026-05-19T10:00+02:00", &["cherry-pick", "side"]);
    shed.git_on("2026-05-20T10:00+02:00", &["merge", "-q", "side", "-m", "merged"]);
    let setups = shed.setups("moth");
    assert_eq!(setups.iter().filter(|setup| setup.id == id).count(), 1);
    let whys: Vec<_> = setups.iter().rev().map(|setup| setup.why.as_str()).collect();
    assert_eq!(whys, ["as bought", "softer", "shorter", "softer"]);
    let mut numbers: Vec<_> = setups.iter().map(|setup| setup.number).collect();
    numbers.sort_unstable();
    assert_eq!(numbers, (1..=setups.len() as u64).collect::<Vec<_>>());
    let compared = shed.json(&["compare", "moth", "latest", "now"]);
    assert_eq!(compared["changes"].as_array().map(Vec::len), Some(0), "{compared:#}");
    shed.run(&["garage", "check"]).done();
}

#[test]
fn another_branch_has_another_history() {
    let shed = two_sides();
    assert_eq!(shed.story("moth"), ["1 as bought", "2 main two", "3 main three"]);
    shed.git(&["checkout", "-q", "side"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 side two", "3 side three"]);
    shed.git(&["checkout", "-q", "--detach", "main~1"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 main two"]);
    shed.git(&["checkout", "-q", "main"]);
    assert_eq!(shed.story("moth"), ["1 as bought", "2 main two", "3 main three"]);
    shed.assert_sound();
}

/// A setup that git took back keeps its number, and what stands then is a setup of its own.
#[test]
fn a_reverted_setup_keeps_its_number() {
    let shed = Shed::new();
    for (day, gear) in [(17, 41), (18, 42)] {
        let when = format!("2026-05-{day}T10:00+02:00");
        let change = format!("gearing.rear={gear}");
        shed.run_on(&when, &["change", "moth", &change, "--why", &format!("rear {gear}")]).done();
    }
    shed.git(&["revert", "--no-edit", "HEAD"]);
    let story = shed.story("moth");
    assert_eq!(story[..3], ["1 as bought", "2 rear 41", "3 rear 42"]);
    assert!(story.len() == 4 && story[3].starts_with("4 Revert"), "{story:?}");
    shed.run_on("2026-05-19T10:00+02:00", &["rollback", "moth", "3"]).done();
    assert!(shed.read(&setup_file("moth")).contains("rear = 42"));
    shed.assert_clean();
    shed.assert_sound();
}

/// A branch that was squashed into one commit is one setup, and takes the number of nobody.
#[test]
fn a_squashed_branch_is_one_setup_with_a_number_of_its_own() {
    let shed = two_sides();
    shed.git(&["merge", "-q", "--squash", "side"]);
    shed.git(&["commit", "-q", "-m", "squashed"]);
    let story = shed.story("moth");
    let before = ["1 as bought", "2 main two", "3 main three"];
    assert!(story.len() == 4 && story[..3] == before && story[3].ends_with(" squashed"), "{story:?}");
    let number: u32 = story[3].split(' ').next().unwrap().parse().unwrap();
    assert!(number > 3, "{story:?}");
    let head = shed.run(&["change", "moth", "gearing.rear=43", "--why", "after"]);
    head.done();
    assert!(shed.story("moth")[3].starts_with(&format!("{number} ")), "a number moved");
    shed.assert_sound();
}

/// The same where nothing but the numbers tells it: git moved it in the very second in which it ran.
#[test]
fn a_setup_that_git_moved_in_the_second_it_ran_is_combined_too() {
    let shed = Shed::new();
    let at = "2026-05-17T11:00+02:00";
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.run_on("2026-05-17T10:00+02:00", &["change", "moth", "jetting.main=172", "--why", "theirs"]).done();
    shed.git(&["checkout", "-q", "main"]);
    shed.run_on(at, &["change", "moth", "gearing.rear=41", "--why", "hairpin"]).done();
    let air = ["--temp", "20", "--baro", "990", "--humidity", "50"];
    shed.run_on(at, &[&["outing", "add", "moth", "full=right"][..], &air].concat()).done();
    shed.git_on(at, &["rebase", "-q", "side"]);
    let setups = shed.json(&["history", "moth"]);
    assert_eq!(setups["setups"][0]["combined"], true, "{setups:#}");
    let show = shed.json(&["outing", "show", "moth"]);
    assert!(show["setup"].is_null(), "the run stands on jets that it never ran on: {show:#}");
    let jobs = in_a_line(&shed.run(&["job", "moth"]).done().out);
    assert!(jobs.contains("172"), "{jobs}");
    let now = in_a_line(&shed.run(&["now"]).done().out);
    assert!(now.contains("combined of two sides' changes and never ran"), "{now}");
    // What is changed on top of it has not run either.
    shed.run_on("2026-05-18T10:00+02:00", &["change", "moth", "gearing.rear=42", "--why", "shorter"]).done();
    let now = in_a_line(&shed.run(&["now", "moth"]).done().out);
    assert!(now.contains("Setup 4 is made on setup 3, which is combined of two sides' changes"), "{now}");
}

/// A setup that ran and was then put onto another one by `git pull --rebase` is of both sides: nobody ran that, and its run proves nothing.
#[test]
fn a_setup_that_git_put_onto_another_one_is_combined_and_its_run_proves_nothing() {
    let air = ["--temp", "20", "--baro", "990", "--humidity", "50"];
    let shed = Shed::new();
    let run = |day: &str, words: &[&str]| {
        shed.run_on(day, &words.iter().chain(&air).copied().collect::<Vec<_>>()).done();
    };
    run("2026-05-16T10:00+02:00", &["outing", "add", "moth", "full=right"]);
    shed.git(&["checkout", "-q", "-b", "side"]);
    shed.run_on("2026-05-17T10:00+02:00", &["change", "moth", "jetting.main=172", "--why", "theirs"]).done();
    shed.git(&["checkout", "-q", "main"]);
    shed.run_on("2026-05-17T11:00+02:00", &["change", "moth", "gearing.rear=41", "--why", "hairpin"]).done();
    run("2026-05-17T12:00+02:00", &["outing", "add", "moth", "full=right"]);
    shed.run_on("2026-05-17T13:00+02:00", &["change", "moth", "gearing.rear=40", "--why", "longer"]).done();
    shed.git_on("2026-05-18T10:00+02:00", &["rebase", "-q", "side"]);
    let setups = shed.json(&["history", "moth"]);
    let combined: Vec<(String, bool)> = setups["setups"]
        .as_array()
        .unwrap()
        .iter()
        .map(|setup| (setup["why"].as_str().unwrap().to_owned(), setup["combined"].as_bool().unwrap()))
        .collect();
    assert_eq!(
        combined,
        [
            ("longer".into(), true),
            ("hairpin".into(), true),
            ("theirs".into(), false),
            ("as bought".into(), false)
        ]
    );
    let now = in_a_line(&shed.run(&["now", "moth"]).done().out);
    assert!(now.contains("combined of two sides' changes and never ran"), "{now}");
    let show = shed.json(&["outing", "show", "moth"]);
    assert!(show["setup"].is_null(), "{show:#}");
    let refused = in_a_line(&shed.run(&["proven", "moth"]).refused());
    assert!(refused.contains("never ran"), "{refused}");
    let jobs = in_a_line(&shed.run(&["job", "moth"]).done().out);
    assert!(jobs.contains("main") && jobs.contains("172"), "{jobs}");
    let history = in_a_line(&shed.run(&["history", "moth"]).done().out);
    assert!(history.contains("combined"), "{history}");
    // What runs from now on is its own.
    shed.run_on("2026-05-19T10:00+02:00", &["job", "done", "all", "moth"]).done();
    run("2026-05-19T11:00+02:00", &["outing", "add", "moth", "full=right"]);
    assert!(!shed.run(&["now", "moth"]).done().out.contains("never ran"));
}

/// A list of numbers that a full disk or a lost power cut short settles nothing, and is not recorded so.
#[test]
fn numbers_that_are_cut_short_settle_nothing_and_come_back() {
    let shed = two_sides();
    shed.git(&["merge", "-q", "side", "-m", "merged"]);
    let whole = shed.read("bikes/moth/numbers");
    let last = whole.trim_end().rfind('\n').unwrap() + 1;
    assert!(whole[last..].starts_with("3 "), "{whole}");
    for (at, cut) in [&whole[..0], &whole[..last], &whole[..last + 5], &whole[..20]].into_iter().enumerate() {
        shed.write("bikes/moth/numbers", cut);
        for words in [&["history", "moth"][..], &["now", "moth"]] {
            let said = in_a_line(&shed.run(words).done().out);
            assert!(
                said.contains("Setup 2 of moth is two") && said.contains("Setup 3 of moth is two"),
                "{said}"
            );
            assert!(said.contains("reedbook garage fix bikes/moth/numbers"), "{cut:?}: {said}");
        }
        let check = shed.run(&["garage", "check"]);
        assert!(check.code == Some(1) && check.out.contains("bikes/moth/numbers"), "{}", check.out);
        let asked = in_a_line(&shed.run(&["rollback", "moth", "3"]).refused());
        assert!(asked.contains("Setup 3 of moth is two"), "{asked}");
        if at % 2 == 0 {
            shed.run(&["garage", "fix", "bikes/moth/numbers"]).done();
            assert_eq!(shed.read("bikes/moth/numbers"), whole);
            shed.assert_clean();
            shed.assert_sound();
        }
    }
    // A writer brings them back itself, and says so.
    let change = ["change", "moth", "gearing.rear=43", "--why", "shorter"];
    let said = in_a_line(&shed.run_on("2026-05-22T10:00+02:00", &change).done().out);
    assert!(said.contains("The numbers stand again as they were recorded."), "{said}");
    let now = shed.read("bikes/moth/numbers");
    assert!(whole.lines().all(|line| now.lines().any(|known| known == line)), "{whole}{now}");
    let history = in_a_line(&shed.run(&["history", "moth"]).done().out);
    assert!(history.contains("Setup 2 of moth is two") && !history.contains("cut short"), "{history}");
    shed.assert_clean();
    shed.assert_sound();
}
