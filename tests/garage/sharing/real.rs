//! Shared through what people have: git behind a web server, and ssh. The parts are real: `git http-backend`, `sshd`, the user's own git
//! and ssh.

mod http;
mod ssh;

use std::fs;
use std::path::PathBuf;

use self::http::{Fails, Web};
use self::ssh::Sshd;
use super::Yard;
use crate::common::in_a_line;

/// Two sides that share through an address, each change seen by the other.
fn there_and_back(yard: &Yard, address: &str) {
    yard.done("shop", "16T10", &["share", "--with", address]);
    yard.done("track", "16T10", &["share", "--with", address]);
    yard.done("track", "16T11", &["outing", "add", "moth", "full=right", "--place", "Teal Pass"]);
    yard.done("track", "16T12", &["change", "moth", "gearing.rear=41", "--why", "shorter"]);
    yard.done("track", "16T13", &["share"]);
    yard.done("shop", "16T14", &["change", "wasp", "ignition.base=14", "--why", "softer"]);
    let said = yard.done("shop", "16T15", &["share"]);
    assert!(said.contains("shorter") || in_a_line(&said).contains("1 outing"), "{said}");
    yard.done("track", "16T16", &["share"]);
    yard.assert_one(&["shop", "track"]);
    assert_eq!(yard.story("shop", "moth"), ["1 as bought", "2 shorter"]);
    assert!(yard.done("shop", "16T17", &["share"]).contains("nothing to send"));
}

fn stick(yard: &Yard) -> PathBuf {
    yard.shed.above().join("stick.git")
}

#[test]
fn a_garage_is_shared_through_a_web_server() {
    let yard = Yard::new();
    let web = Web::serve(yard.shed.above(), Fails::Never);
    there_and_back(&yard, &web.address("stick.git"));
}

#[test]
fn a_garage_is_shared_through_ssh() {
    let yard = Yard::new();
    let Some(sshd) = Sshd::start(&yard.shed) else { return };
    there_and_back(&yard, &sshd.address(&stick(&yard)));
}

/// A setup here that the other side has not.
fn something_to_send(yard: &Yard) {
    yard.done("shop", "16T14", &["change", "moth", "ignition.base=14", "--why", "softer"]);
}

/// A share that cannot be done says why and leaves everything here as it is; once the other side is well again, it is done.
#[track_caller]
fn refused_then_done(yard: &Yard, ill: &str, well: &str, wanted: &[&str]) {
    let before = (yard.head("shop"), yard.shed.files());
    let refused = in_a_line(&yard.run("shop", "16T15", &["share", "--with", ill]).refused());
    assert!(wanted.iter().any(|wanted| refused.contains(wanted)), "{refused}");
    assert_eq!((yard.head("shop"), yard.shed.files()), before, "something here was touched: {refused}");
    yard.shed.assert_sound();
    yard.done("shop", "16T16", &["share", "--with", well]);
    yard.done("track", "16T17", &["share"]);
    yard.assert_one(&["shop", "track"]);
}

#[test]
fn a_server_that_goes_away_in_the_middle_loses_nothing() {
    // While it says what it has, while it sends, and while it takes.
    for fails in
        [Fails::AfterBytes(40), Fails::AfterRequests(1), Fails::AfterRequests(2), Fails::AfterRequests(3)]
    {
        let yard = Yard::new();
        let well = Web::serve(yard.shed.above(), Fails::Never);
        yard.done("track", "16T12", &["outing", "add", "wasp", "--note", "theirs"]);
        yard.done("track", "16T13", &["share"]);
        something_to_send(&yard);
        let ill = Web::serve(yard.shed.above(), fails);
        let wanted = ["could not be reached", "did not take what was sent"];
        let before = yard.shed.files();
        let said = yard.run("shop", "16T15", &["share", "--with", &ill.address("stick.git")]);
        let err = in_a_line(&said.err);
        assert!(
            said.code == Some(1) && wanted.iter().any(|wanted| err.contains(wanted)),
            "{fails:?}: {}{err}",
            said.out
        );
        // What was brought may stand here already; what was here is there in any case.
        for (path, bytes) in before {
            let now = fs::read(&path).unwrap();
            assert!(
                now == bytes || path.to_string_lossy().contains("numbers"),
                "{} was touched",
                path.display()
            );
        }
        yard.shed.assert_sound();
        drop(ill);
        yard.done("shop", "16T16", &["share", "--with", &well.address("stick.git")]);
        yard.done("track", "16T17", &["share"]);
        yard.assert_one(&["shop", "track"]);
    }
}

#[test]
fn a_server_that_is_full_or_refuses_says_so() {
    let yard = Yard::new();
    let well = Web::serve(yard.shed.above(), Fails::Never);
    something_to_send(&yard);
    // No file may grow there: the pack is not taken.
    let full = Web::serve(yard.shed.above(), Fails::Full);
    refused_then_done(
        &yard,
        &full.address("stick.git"),
        &well.address("stick.git"),
        &["did not take what was sent"],
    );

    yard.done("shop", "17T14", &["change", "moth", "ignition.base=15", "--why", "as it was"]);
    let hook = stick(&yard).join("hooks/pre-receive");
    fs::create_dir_all(hook.parent().unwrap()).unwrap();
    fs::write(&hook, "#!/bin/sh\necho 'closed until Monday' >&2\nexit 1\n").unwrap();
    fs::set_permissions(&hook, std::os::unix::fs::PermissionsExt::from_mode(0o755)).unwrap();
    let before = (yard.head("shop"), yard.shed.files());
    let refused = in_a_line(&yard.run("shop", "17T15", &["share"]).refused());
    assert!(
        refused.contains("did not take what was sent") && refused.contains("closed until Monday"),
        "{refused}"
    );
    assert_eq!((yard.head("shop"), yard.shed.files()), before);
    fs::remove_file(hook).unwrap();
    yard.done("shop", "17T16", &["share"]);
}

#[test]
fn a_server_that_is_not_there_has_no_garage_or_wants_a_name_says_so() {
    let yard = Yard::new();
    let web = Web::serve(yard.shed.above(), Fails::Never);
    let gone = web.address("stick.git");
    let nobody = Web::serve(yard.shed.above(), Fails::Unauthorized);
    for (address, wanted) in [
        (web.address("nothing.git"), "could not be reached"),
        (nobody.address("stick.git"), "could not be reached"),
    ] {
        let before = yard.shed.files();
        let refused = in_a_line(&yard.run("shop", "16T15", &["share", "--with", &address]).refused());
        assert!(refused.contains(wanted), "{refused}");
        assert_eq!(yard.shed.files(), before);
    }
    drop(web);
    let refused = in_a_line(&yard.run("shop", "16T15", &["share", "--with", &gone]).refused());
    assert!(refused.contains("could not be reached"), "{refused}");

    // A repository that is no garage, and one that was rewritten.
    let shed = &yard.shed;
    shed.git_in(shed.above(), &["init", "-q", "other"]).done();
    fs::write(shed.above().join("other/README"), "not this\n").unwrap();
    shed.git_in(&shed.above().join("other"), &["add", "-A"]).done();
    shed.git_in(&shed.above().join("other"), &["commit", "-q", "-m", "another thing"]).done();
    let web = Web::serve(shed.above(), Fails::Never);
    let refused =
        in_a_line(&yard.run("shop", "16T15", &["share", "--with", &web.address("other/.git")]).refused());
    assert!(refused.contains("not a garage"), "{refused}");
    yard.done("shop", "16T16", &["share", "--with", &web.address("stick.git")]);
    let track = yard.at("track");
    shed.git_in(&track, &["commit", "-q", "--amend", "--allow-empty", "-m", "rewritten"]).done();
    shed.git_in(&track, &["push", "-q", "--force", "origin", "main"]).done();
    let before = (yard.head("shop"), shed.files());
    let refused = in_a_line(&yard.run("shop", "16T17", &["share"]).refused());
    assert!(refused.contains("was rewritten"), "{refused}");
    assert_eq!((yard.head("shop"), shed.files()), before);
    shed.assert_sound();
}

#[test]
fn ssh_that_is_refused_or_cut_off_says_so() {
    let yard = Yard::new();
    let Some(sshd) = Sshd::start(&yard.shed) else { return };
    let address = sshd.address(&stick(&yard));
    something_to_send(&yard);
    // A key that the server does not know.
    sshd.let_nobody_in();
    let before = (yard.head("shop"), yard.shed.files());
    let refused = in_a_line(&yard.run("shop", "16T15", &["share", "--with", &address]).refused());
    assert!(refused.contains("could not be reached") && refused.contains("ermission denied"), "{refused}");
    assert_eq!((yard.head("shop"), yard.shed.files()), before);
    sshd.let_in("");
    let with = yard.run("shop", "16T16", &["share", "--with", &address]).done();
    assert!(with.out.contains("sent"), "{}", with.out);
    // The server's disk is full.
    yard.done("shop", "17T14", &["change", "moth", "ignition.base=15", "--why", "as it was"]);
    sshd.let_in("command=\"ulimit -f 0; eval \\\"$SSH_ORIGINAL_COMMAND\\\"\" ");
    let before = (yard.head("shop"), yard.shed.files());
    let refused = in_a_line(&yard.run("shop", "17T15", &["share"]).refused());
    assert!(refused.contains("did not take what was sent"), "{refused}");
    assert_eq!((yard.head("shop"), yard.shed.files()), before);
    sshd.let_in("");
    yard.done("shop", "17T16", &["share"]);
    yard.done("track", "17T17", &["share"]);
    yard.assert_one(&["shop", "track"]);
}
