//! What a stranger, or a broken tool, may have put into the repository that a garage is shared through: refused with a clear word, and
//! nothing here is touched.

use std::fs;
use std::io::Write;
use std::process::Stdio;

use super::{Yard, exists};
use crate::common::in_a_line;

impl Yard {
    pub(super) fn git_track(&self, words: &[&str]) -> String {
        self.shed.git_in(&self.at("track"), words).done().out.trim().to_owned()
    }

    fn blob(&self, bytes: &[u8]) -> String {
        fs::write(self.shed.above().join("blob"), bytes).unwrap();
        self.git_track(&["hash-object", "-w", "../blob"])
    }

    /// A tree of given entries, whatever they are called.
    fn tree(&self, entries: &str) -> String {
        let mut git = std::process::Command::new("git")
            .args(["mktree", "--missing"])
            .current_dir(self.at("track"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        git.stdin.take().unwrap().write_all(entries.as_bytes()).unwrap();
        let output = git.wait_with_output().unwrap();
        assert!(output.status.success());
        String::from_utf8(output.stdout).unwrap().trim().to_owned()
    }

    /// Puts one more entry at the top of what is shared.
    fn send_with(&self, entry: &str) {
        let top = self.git_track(&["ls-tree", "HEAD"]);
        let tree = self.tree(&format!("{top}\n{entry}\n"));
        let commit = self.git_track(&["commit-tree", &tree, "-p", "HEAD", "-m", "odd"]);
        self.git_track(&["push", "-q", "--force", "origin", &format!("{commit}:refs/heads/main")]);
    }

    #[track_caller]
    pub(super) fn refuses(&self, wanted: &str) {
        let before = (self.head("shop"), self.shed.files());
        let refused = in_a_line(&self.run("shop", "18T10", &["share"]).refused());
        assert!(refused.contains(wanted), "{wanted}: {refused}");
        assert_eq!((self.head("shop"), self.shed.files()), before, "{wanted}: something was touched");
        // What was rewritten is kept for whoever wants to look at it.
        assert!(
            wanted == "was rewritten" || !exists(&self.at("shop").join(".git/refs/reedbook/theirs")),
            "{wanted} was kept"
        );
        self.shed.assert_sound();
    }
}

#[test]
fn links_other_repositories_and_names_that_lead_elsewhere_are_refused() {
    let yard = Yard::new();
    let blob = yard.blob(b"../../etc/passwd");
    let inner = yard.tree(&format!("100644 blob {blob}\tx.toml\n"));
    let head = yard.git_track(&["rev-parse", "HEAD"]);
    for (entry, wanted) in [
        (format!("120000 blob {blob}\tnotes.toml"), "notes.toml is a link"),
        (format!("160000 commit {head}\tinner"), "inner is another repository"),
        (format!("100755 blob {blob}\trun.sh"), "run.sh is marked as a program"),
        (format!("040000 tree {inner}\t.."), ".. has a name that leads elsewhere"),
        (format!("040000 tree {inner}\t.GIT"), ".GIT has the name of git's own folder"),
        (format!("040000 tree {inner}\tgit~1"), "git~1 has the name of git's own folder"),
        (format!("100644 blob {blob}\t.gitmodules"), ".gitmodules would bring other repositories in"),
        (format!("100644 blob {blob}\tGARAGE.toml"), "differs from another file only in capital letters"),
        (format!("100644 blob {blob}\ta\\b.toml"), "leads elsewhere"),
        (format!("100644 blob {blob}\ta:b.toml"), "not every system can have"),
        (format!("100644 blob {blob}\tcon.toml"), "not every system can have"),
        (format!("100644 blob {blob}\t{}.toml", "a".repeat(300)), "is longer than any disk holds"),
        (
            format!("100644 blob {blob}\tcaf\u{e9}.toml\n100644 blob {blob}\tcafe\u{301}.toml"),
            "or in how an accent is written",
        ),
    ] {
        yard.send_with(&entry);
        yard.refuses(wanted);
    }
}

#[test]
fn a_file_that_is_too_large_is_refused_before_it_is_copied() {
    let yard = Yard::new();
    let blob = yard.blob(&vec![b'#'; 2 * 1024 * 1024]);
    yard.send_with(&format!("100644 blob {blob}\tparts.toml"));
    yard.refuses("parts.toml has 2097152 bytes");
    let there = yard.shed.git_in(&yard.at("shop"), &["cat-file", "-e", &blob]);
    assert_ne!(there.code, Some(0), "it was copied all the same");
}

/// A line that is no number of a setup is nobody's, and is named.
#[test]
fn a_list_of_numbers_with_rubbish_in_it_is_named() {
    let yard = Yard::new();
    let list = yard.at("track").join("bikes/moth/numbers");
    fs::write(&list, fs::read_to_string(&list).unwrap() + "rubbish\n").unwrap();
    yard.git_track(&["commit", "-qam", "odd"]);
    yard.git_track(&["push", "-q"]);
    yard.done("shop", "18T10", &["share"]);
    let checked = yard.run("shop", "18T11", &["garage", "check"]);
    let said = in_a_line(&checked.out);
    assert!(said.contains("bikes/moth/numbers:2: \"rubbish\" is no number of a setup"), "{said}");
    assert_eq!(checked.code, Some(1));
}

#[test]
fn what_is_no_garage_or_another_one_is_refused() {
    let yard = Yard::new();
    let blob = yard.blob(b"hello");
    let tree = yard.tree(&format!("100644 blob {blob}\tREADME\n"));
    let commit = yard.git_track(&["commit-tree", &tree, "-p", "HEAD", "-m", "no garage"]);
    yard.git_track(&["push", "-q", "--force", "origin", &format!("{commit}:refs/heads/main")]);
    yard.refuses("not a garage");

    let newer = yard.blob(b"layout = 2\nunits = \"metric\"\n");
    let tree = yard.tree(&format!("100644 blob {newer}\tgarage.toml\n"));
    let commit = yard.git_track(&["commit-tree", &tree, "-p", "HEAD", "-m", "newer"]);
    yard.git_track(&["push", "-q", "--force", "origin", &format!("{commit}:refs/heads/main")]);
    yard.refuses("layout 2");

    let tree = yard.git_track(&["rev-parse", "HEAD^{tree}"]);
    let commit = yard.git_track(&["commit-tree", &tree, "-m", "another beginning"]);
    yard.git_track(&["push", "-q", "--force", "origin", &format!("{commit}:refs/heads/main")]);
    yard.refuses("was rewritten");
    let refused = yard.run("shop", "18T11", &["share", "--anyway"]).refused();
    assert!(refused.contains("another garage"), "{refused}");
}

#[test]
fn a_history_that_was_rewritten_is_said_and_brought_together_only_when_told() {
    let yard = Yard::new();
    yard.done("track", "16T12", &["outing", "add", "moth", "full=right", "--note", "kept"]);
    yard.done("track", "16T13", &["share"]);
    yard.done("shop", "16T14", &["share"]);
    yard.git_track(&["reset", "-q", "--hard", "HEAD~1"]);
    yard.done("track", "16T15", &["outing", "add", "wasp", "full=rich", "--note", "instead"]);
    yard.git_track(&["push", "-q", "--force"]);
    let before = yard.head("shop");
    let refused = yard.run("shop", "16T16", &["share"]).refused();
    assert!(refused.contains("was rewritten"), "{refused}");
    // The same stick named again is no other one.
    let refused = yard.run("shop", "16T17", &["share", "--with", "../stick.git"]).refused();
    assert!(refused.contains("was rewritten"), "{refused}");
    assert_eq!(yard.head("shop"), before);
    yard.done("shop", "16T17", &["share", "--anyway"]);
    yard.done("track", "16T18", &["share"]);
    yard.assert_one(&["shop", "track"]);
    for bike in ["moth", "wasp"] {
        assert_eq!(yard.shed.outings(bike).len(), 1, "the outing of {bike} is lost");
    }
}

#[test]
fn a_remote_that_is_gone_refuses_or_is_somebodys_garage_is_said() {
    let yard = Yard::new();
    yard.done("shop", "16T12", &["outing", "add", "moth", "full=right"]);
    let stick = yard.shed.above().join("stick.git");
    let away = yard.shed.above().join("away.git");
    fs::rename(&stick, &away).unwrap();
    let head = yard.head("shop");
    let refused = yard.run("shop", "16T13", &["share"]).refused();
    assert!(refused.contains("no git repository"), "{refused}");
    fs::rename(&away, &stick).unwrap();
    let refused = yard.run("shop", "16T14", &["share", "--with", "../track"]).refused();
    assert!(refused.contains("somebody works in"), "{refused}");
    let refused = yard.run("shop", "16T14", &["share", "--with", "."]).refused();
    assert!(refused.contains("not shared with itself"), "{refused}");
    assert_eq!(yard.head("shop"), head);
    yard.done("shop", "16T15", &["share", "--with", "../stick.git"]);
    yard.done("track", "16T16", &["share"]);
    yard.assert_one(&["shop", "track"]);
}
