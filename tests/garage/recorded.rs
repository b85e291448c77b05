//! Recorded or not, never both: what is said of a recording is what happened, whatever fails beside it, and what another
//! recorded or had there already is kept.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use std::fs;

use crate::common::{Answer, SETUP, Shed, in_a_line, setup_file};

#[cfg(target_os = "linux")]
#[test]
fn an_answer_that_cannot_be_written_says_that_it_was_recorded() {
    let shed = Shed::new();
    let full = || fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let run = |words: &[&str]| -> Answer {
        shed.program(&shed.root(), words).stdout(full()).output().unwrap().into()
    };
    let said = in_a_line(&run(&["change", "moth", "jetting.main=172", "--why", "cooler"]).refused());
    assert!(said.contains("What was to be recorded is recorded."), "{said}");
    assert_eq!(shed.story("moth"), ["1 as bought", "2 cooler"]);
    let said = run(&["history", "moth"]).refused();
    assert!(!said.contains("recorded"), "{said}");
    shed.assert_clean();
    // Help is an answer, too.
    let help = run(&["change", "--help"]);
    assert!(help.code != Some(0) && help.err.contains("The output cannot be written"), "{help:?}");
}

#[test]
fn marks_that_are_gone_from_the_file_are_not_recorded_as_taken_back() {
    let shed = Shed::new();
    shed.run(&["proven", "moth", "--why", "won on it"]).done();
    let marked = shed.read("bikes/moth/bike.toml");
    for left in [String::new(), marked.split("[proven").next().unwrap().to_owned()] {
        shed.write("bikes/moth/bike.toml", left);
        for words in [
            &["change", "moth", "jetting.main=172", "--why", "cooler"][..],
            &["rollback", "moth", "1"],
            &["proven", "moth", "--why", "still"],
        ] {
            let said = in_a_line(&shed.run(words).refused());
            let by_marks = said.contains("1 proven mark of moth is recorded and gone")
                && said.contains("git checkout HEAD -- bikes/moth/bike.toml");
            let as_cut_short = said.contains("what was recorded goes on behind it")
                && said.contains("reedbook garage fix bikes/moth/bike.toml");
            assert!(by_marks || as_cut_short, "{said}");
        }
        assert_eq!(shed.git(&["show", "HEAD:bikes/moth/bike.toml"]), marked);
    }
    shed.git(&["checkout", "HEAD", "--", "bikes/moth/bike.toml"]);
    shed.run(&["change", "moth", "jetting.main=172", "--why", "cooler"]).done();
    shed.run(&["proven", "moth", "1", "--withdraw"]).done();
    assert!(!shed.read("bikes/moth/bike.toml").contains("[proven"));
}

/// What a file holds is quoted as far as anybody reads it.
#[test]
fn an_error_quotes_no_line_of_any_length() {
    let shed = Shed::new();
    shed.write("big.csv", "\u{1}".repeat(900_000));
    let said = shed.run(&["air", "--csv", "big.csv"]).refused();
    assert!(said.contains("\\u{1}") && said.len() < 2_000, "{} bytes", said.len());
    shed.write("bikes/moth/setup.toml", format!("{SETUP}\n[extra]\n{} = 1\n", "k".repeat(500_000)));
    let said = shed.run(&["change", "moth", "--why", "x"]);
    assert!(said.out.len() + said.err.len() < 20_000, "{} and {} bytes", said.out.len(), said.err.len());
    // Many fields are counted.
    let fields: String = (0..3_000).map(|number| format!("k{number} = 1\n")).collect();
    shed.write(
        "bikes/wasp/setup.toml",
        format!("{}\n[extra]\n{fields}", SETUP.replace("ENGINE", "wasp-engine")),
    );
    let said = in_a_line(&shed.run(&["now", "wasp"]).done().out);
    assert!(
        said.contains("Edited on disk and not recorded: ") && said.contains(" and 29"),
        "{} bytes",
        said.len()
    );
}

#[test]
fn a_clock_that_is_not_set_records_nothing() {
    let shed = Shed::new();
    let head = shed.git(&["rev-parse", "HEAD"]);
    for now in [
        "1970-01-01T10:00+00:00",
        "9999-12-30T10:00+00:00",
        "1969-12-31T10:00+00:00",
        "2240-01-01T10:00+00:00",
    ] {
        let said = shed.run_on(now, &["change", "moth", "jetting.main=172", "--why", "cooler"]).refused();
        assert!(said.contains(&now[..10]) && said.contains("Set the clock"), "{said}");
        shed.run_on(now, &["outing", "add", "moth", "full=right", "--setup", "1"]).refused();
        shed.run_on(now, &["history", "moth"]).done();
    }
    assert_eq!(shed.git(&["rev-parse", "HEAD"]), head);
    shed.assert_clean();
}

#[test]
fn a_date_that_cannot_be_kept_is_refused() {
    let shed = Shed::new();
    let head = shed.git(&["rev-parse", "HEAD"]);
    for date in ["9999-12-31", "9999-12-30", "1969-07-20", "1970-01-01", "0001-01-01", "2027-05-16"] {
        for words in [
            ["change", "moth", "jetting.main=172", "--why", "cooler", "--date", date].as_slice(),
            &["outing", "add", "moth", "full=right", "--setup", "1", "--date", date],
            &["build", "new", "moth-engine", "--date", date],
            &["part", "add", "p1", "--kind", "piston", "--fit", "moth-engine", "--date", date],
        ] {
            let answer = shed.run(words);
            assert_eq!(answer.code, Some(1), "{words:?}: {}{}", answer.out, answer.err);
        }
    }
    assert_eq!(shed.git(&["rev-parse", "HEAD"]), head);
    shed.assert_clean();
}

#[test]
fn a_lock_of_git_on_the_branch_is_named_with_the_way_out() {
    let shed = Shed::new();
    for (lock, text) in
        [("refs/heads/main.lock", "somebody else's"), ("refs/heads/main.lock", ""), ("HEAD.lock", "")]
    {
        let path = shed.root().join(".git").join(lock);
        fs::write(&path, text).unwrap();
        let said = shed.run(&["change", "moth", "jetting.main=172", "--why", "cooler"]);
        if said.code != Some(0) {
            let said = in_a_line(&said.refused());
            assert!(said.contains(&format!("Git's lock .git/{lock} is there")), "{said}");
            assert!(said.contains(&format!("where no git is running, delete .git/{lock}.")), "{said}");
            assert_eq!(fs::read_to_string(&path).unwrap(), text, "it may be somebody's");
            assert_eq!(shed.story("moth"), ["1 as bought"]);
        }
        fs::remove_file(&path).unwrap();
    }
    shed.assert_sound();
}

#[test]
fn a_new_garage_keeps_what_lies_in_its_folder() {
    let shed = Shed::empty();
    let own = format!("# mine\n{}", include_str!("../../configs/jets.toml"));
    shed.write("configs/jets.toml", &own);
    shed.write(".gitattributes", "*.png binary\n* -text");
    shed.write("notes.txt", "mine as well");
    shed.run(&["garage", "new", "."]).done();
    assert_eq!(shed.read("configs/jets.toml"), own);
    assert_eq!(
        shed.read(".gitattributes"),
        "*.png binary\n* -text\nbikes/*/numbers merge=union\nplaces/*.toml merge=union\n"
    );
    assert_eq!(shed.git(&["show", "HEAD:configs/jets.toml"]), own);
    assert_eq!(shed.git(&["status", "--porcelain"]), "?? notes.txt\n");
    shed.assert_sound();
}

/// An editor that, once the file is open, runs a command of another and then saves the file as the user wrote it.
fn edited(shed: &Shed, meanwhile: &[&str], mine: &str) -> Answer {
    let (script, text) = (shed.above().join("editor.sh"), shed.above().join("mine.toml"));
    fs::write(&text, mine).unwrap();
    let meanwhile: Vec<String> = meanwhile.iter().map(|word| format!("'{word}'")).collect();
    let program = env!("CARGO_BIN_EXE_reedbook");
    let lines = format!(
        "set -e\n{program} {} >\"{1}/said\" 2>&1\ncat \"{2}\" > \"$1\"\n",
        meanwhile.join(" "),
        shed.above().display(),
        text.display()
    );
    fs::write(&script, lines).unwrap();
    let mut program = shed.program(&shed.root(), &["change", "moth", "--edit", "--why", "mine", "--sure"]);
    program.env("EDITOR", format!("sh {}", script.display())).output().unwrap().into()
}

#[cfg(unix)]
#[test]
fn what_another_recorded_while_the_editor_was_open_is_not_undone() {
    let shed = Shed::new();
    let text = SETUP.replace("ENGINE", "moth-engine");
    // Far apart in the file, and on lines that touch.
    for (round, (field, other, mine)) in
        [("ignition.base=14", "base = 14", "rear = 41"), ("gearing.front=14", "front = 14", "rear = 41")]
            .into_iter()
            .enumerate()
    {
        shed.write(&setup_file("moth"), &text);
        shed.run(&["change", "moth", "--why", "as it was", "--sure"]);
        let mine_text = text.replace("rear = 40", &format!("{mine} # by hand"));
        edited(&shed, &["change", "moth", field, "--why", "theirs", "--sure"], &mine_text).done();
        let now = shed.read(&setup_file("moth"));
        assert!(now.contains(other) && now.contains(mine), "{round}: {now}");
        let story = shed.story("moth");
        assert!(
            story[story.len() - 2].ends_with("theirs") && story[story.len() - 1].ends_with("mine"),
            "{story:?}"
        );
        shed.assert_clean();
    }
    shed.assert_sound();
}

#[cfg(unix)]
#[test]
fn where_both_changed_one_field_what_was_recorded_stands_and_the_other_text_is_kept() {
    let shed = Shed::new();
    let mine = SETUP.replace("ENGINE", "moth-engine").replace("main = 170 ", "main = 165 ");
    let said =
        edited(&shed, &["change", "moth", "jetting.main=180", "--why", "theirs", "--sure"], &mine).refused();
    assert!(said.contains("another recorded bikes/moth/setup.toml"), "{said}");
    let kept = ".git/reedbook/edited-bikes-moth-setup.toml";
    assert!(said.contains(kept), "{said}");
    assert_eq!(shed.read(kept), mine);
    assert!(shed.read(&setup_file("moth")).contains("main = 180"));
    assert_eq!(shed.story("moth"), ["1 as bought", "2 theirs"]);
    shed.assert_clean();
}

#[test]
fn a_broken_bike_file_is_not_carried_into_a_commit() {
    let shed = Shed::new();
    shed.write("bikes/moth/bike.toml", "cylinders = \n");
    shed.run(&["change", "moth", "jetting.main=172", "--why", "cooler"]).refused();
    // It is so already: an answer, and nothing is recorded.
    shed.run(&["rollback", "moth", "1"]).done();
    assert_eq!(shed.git(&["rev-list", "--count", "HEAD", "--", "bikes/moth/bike.toml"]), "1\n");
}

#[test]
fn both_sides_of_a_merge_in_a_file_are_named_with_the_way_out() {
    let shed = Shed::new();
    for file in ["bikes/moth/bike.toml", "bikes/moth/setup.toml"] {
        let sound = shed.read(file);
        shed.write(file, format!("<<<<<<< HEAD\n{sound}=======\n{sound}# more\n>>>>>>> theirs\n"));
        let said = shed.run(&["change", "moth", "jetting.main=172", "--why", "cooler"]).refused();
        assert!(said.contains("The file holds both sides of a merge"), "{said}");
        assert!(said.contains(&format!("where: {file}, line 1")), "{said}");
        // What is mended is mended by the tool, whatever was committed.
        if file.ends_with("setup.toml") {
            assert!(said.contains("reedbook rollback moth latest --lose-edits"), "{said}");
            shed.run(&["rollback", "moth", "latest", "--lose-edits"]).done();
        } else {
            assert!(said.contains(&format!("reedbook garage fix {file}")), "{said}");
            let mended = shed.run(&["garage", "fix", file]).done().out;
            assert!(mended.contains("What stood in it: `git show "), "{mended}");
        }
        assert_eq!(shed.read(file), sound);
    }
    shed.run(&["change", "moth", "jetting.main=172", "--why", "cooler"]).done();
}

/// A name that is exported for git is the record's, where git's settings have another or none.
#[test]
fn a_name_exported_for_git_is_heard() {
    let shed = Shed::new();
    let mut exported = shed.program(&shed.root(), &["change", "moth", "jetting.main=172", "--why", "cooler"]);
    exported.env("GIT_AUTHOR_NAME", "Ada Sorrel").env("GIT_AUTHOR_EMAIL", "ada@example.org");
    exported.env("GIT_COMMITTER_NAME", "Ada Sorrel").env("GIT_COMMITTER_EMAIL", "ada@example.org");
    let said: Answer = exported.output().unwrap().into();
    assert!(!said.done().out.contains("does not know your name"));
    assert_eq!(shed.git(&["log", "-1", "--format=%an <%ae>"]).trim(), "Ada Sorrel <ada@example.org>");
}
