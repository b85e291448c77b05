//! The floors of the house: each imports only those below it. Reads the sources, so that a forbidden import fails here
//! before anybody has to notice it.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::sources::{Source, files_under};

/// The floors from the bottom up; those on one line do not import each other.
const FLOORS: [&[&str]; 10] = [
    &["quantity"],
    &["air", "engine"],
    &["notebook"],
    &["machine"],
    &["store"],
    &["advice"],
    &["report"],
    &["acts"],
    &["serve"],
    &["commands"],
];

fn height(floor: &str) -> Option<usize> {
    FLOORS.iter().position(|floors| floors.contains(&floor))
}

/// What a source names of floors that its own may not have.
fn forbidden(own: &str, source: &Source) -> Vec<String> {
    let own_height = height(own).expect("a known floor");
    let may = |name: &str| height(name).is_none_or(|other| name == own || other < own_height);
    let floors = source.names().into_iter().filter_map(|path| path.into_iter().next());
    floors.filter(|name| !may(name)).collect()
}

/// What a pure floor may not touch.
fn impure(source: &Source) -> Option<String> {
    let from_std = source.names().into_iter().find_map(|path| match path.as_slice() {
        [std, part, ..] if std == "std" => {
            ["fs", "env", "io", "time", "process"].contains(&part.as_str()).then(|| format!("std::{part}"))
        }
        _ => None,
    });
    from_std.or_else(|| {
        source
            .macros()
            .into_iter()
            .find(|name| ["println", "eprintln", "print", "eprint"].contains(&name.as_str()))
    })
}

/// Every source of the program with its file, but for the crate itself and `main`.
fn sources() -> Vec<(PathBuf, Source)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let files = files_under(&root).into_iter().map(|path| {
        let source = Source::read(&path, &root);
        (path, source)
    });
    files.filter(|(_, source)| source.floor().is_some()).collect()
}

#[test]
fn every_floor_imports_only_those_below() {
    let sources = sources();
    for (path, source) in &sources {
        let floor = source.floor().unwrap();
        let wrong = forbidden(floor, source);
        assert!(wrong.is_empty(), "{} imports {wrong:?}", path.display());
        if matches!(floor, "quantity" | "air" | "engine" | "notebook") {
            assert_eq!(impure(source), None, "{} is on a pure floor", path.display());
        }
    }
    assert!(sources.len() > 60, "only {} sources were read", sources.len());
}

#[test]
fn a_forbidden_import_is_seen() {
    let forbidden = |own: &str, text: &str| forbidden(own, &Source::of(own, text));
    assert_eq!(forbidden("air", "use crate::store::Garage;"), ["store"]);
    assert_eq!(forbidden("air", "use crate::{quantity::Unit, engine::{fuel, head}};"), ["engine", "engine"]);
    assert_eq!(forbidden("air", "fn f() { crate::store::open(); super::advice::g() }"), ["store", "advice"]);
    assert_eq!(forbidden("report", "use crate::commands::Desk;"), ["commands"]);
    assert!(forbidden("store", "use crate::notebook::Setup; use crate::store::folder::disk;").is_empty());
    assert!(forbidden("commands", "use crate::report::Screen;").is_empty());
    let impure = |text| impure(&Source::of("air", text));
    assert_eq!(impure("fn f() { let x = std::fs::read(p); }").as_deref(), Some("std::fs"));
    assert_eq!(impure("use std::{fmt, io::Write};").as_deref(), Some("std::io"));
    assert_eq!(impure("fn f() { println!(\"x\"); }").as_deref(), Some("println"));
    assert_eq!(impure("// std::fs is not used"), None);
}

/// What asks the disk of a path, whatever links lie in it.
const ASK_THE_DISK: [&str; 10] = [
    "metadata",
    "symlink_metadata",
    "exists",
    "try_exists",
    "is_file",
    "is_dir",
    "is_symlink",
    "read_dir",
    "read_link",
    "canonicalize",
];

/// What a source of a floor that knows a garage does to files without the gate.
fn past_the_gate(source: &Source) -> Option<String> {
    let from_std = source.names().into_iter().find_map(|path| match path.as_slice() {
        [std, part, ..] if std == "std" && part == "fs" => Some("std::fs".to_owned()),
        [rustix, part, ..] if rustix == "rustix" && part == "fs" => Some("rustix::fs".to_owned()),
        _ => None,
    });
    // The terminal's keys are read with rustix as well: it is its part for files that only the gate may use.
    let calls = source.calls();
    let in_a_path = (calls.contains("rustix") && calls.contains("fs")).then(|| "rustix::fs".to_owned());
    from_std
        .or(in_a_path)
        .or_else(|| source.calls().into_iter().find(|name| ASK_THE_DISK.contains(&name.as_str())))
}

#[test]
fn every_file_of_a_garage_goes_through_the_gate() {
    let (mut scanned, mut gate) = (0, 0);
    for (path, source) in sources() {
        if !matches!(source.floor(), Some("notebook" | "store" | "advice" | "report")) {
            continue;
        }
        let inner = path.strip_prefix(env!("CARGO_MANIFEST_DIR")).unwrap();
        if inner.starts_with("src/store/folder/gate") {
            gate += usize::from(past_the_gate(&source).is_some());
            continue;
        }
        assert_eq!(past_the_gate(&source), None, "{}: store/folder/gate opens files", path.display());
        scanned += 1;
    }
    assert!(scanned > 150 && gate > 1, "only {scanned} sources were read, and {gate} of the gate");
    for (path, source) in sources() {
        let text = fs::read_to_string(&path).unwrap();
        let joins = text.contains(".root().join(") && source.floor() == Some("commands");
        assert!(!joins, "{} opens a file of the garage by itself", path.display());
    }
    let past = |text| past_the_gate(&Source::of("store", text));
    assert_eq!(past("fn f() { let x = std::fs::read(p); }").as_deref(), Some("std::fs"));
    assert_eq!(past("use std::{fmt, fs::File};").as_deref(), Some("std::fs"));
    assert_eq!(past("fn f(p: &Path) -> bool { p.join(x).is_file() }").as_deref(), Some("is_file"));
    assert_eq!(past("fn f(p: &Path) -> bool { Path::exists(p) }").as_deref(), Some("exists"));
    assert_eq!(past("fn f() { garage.read(p) } // std::fs"), None);
}

/// The floors that know no command line: the report words those that they name as types, and what is above it may ask it to.
const WITHOUT_A_COMMAND_LINE: [&str; 8] =
    ["quantity", "air", "engine", "notebook", "machine", "store", "advice", "acts"];

/// These start git, and what they say to it are its own options.
const START_GIT: [&str; 2] = ["src/store/history/signed.rs", "src/store/share/wire.rs"];

/// An option or a command line in a text, of git's too, with the program's commands by their names.
fn command_line<'t>(text: &'t str, commands: &BTreeSet<String>) -> Option<&'t str> {
    let after = |sign: &str, at: usize| text[at + sign.len()..].starts_with(|c: char| c.is_ascii_lowercase());
    let option = |(at, sign): (usize, &str)| {
        let apart = !text[..at].ends_with(|c: char| c == '-' || c.is_alphanumeric());
        (apart && after(sign, at)).then_some(&text[at..])
    };
    // "A newer reedbook may have written it" is no command.
    let command = |(at, name): (usize, &str)| {
        let next =
            text[at + name.len()..].split(|c: char| !c.is_ascii_lowercase()).next().unwrap_or_default();
        commands.contains(next).then_some(&text[at..])
    };
    let to_git = |(at, sign): (usize, &str)| after(sign, at).then_some(&text[at..]);
    let own = || text.match_indices("reedbook ").find_map(command);
    text.match_indices("--")
        .find_map(option)
        .or_else(own)
        .or_else(|| text.match_indices("`git ").find_map(to_git))
}

/// Whether a text is one word that git takes.
fn is_of_git(text: &str) -> bool {
    let inner = text.trim_matches('"');
    inner.starts_with("--") && !inner.contains(' ')
}

#[test]
fn the_lower_floors_know_no_command_line() {
    let sources = sources();
    let of = |source: &Source| source.floor() == Some("commands");
    let names = sources.iter().filter(|(_, source)| of(source));
    let names = names.filter_map(|(_, source)| command_of(&source.module()[1..]));
    let commands: BTreeSet<String> =
        names.filter_map(|name| name.rsplit("::").next().map(str::to_owned)).collect();
    let (mut scanned, mut to_git) = (0, 0);
    for (path, source) in &sources {
        if !WITHOUT_A_COMMAND_LINE.contains(&source.floor().unwrap()) {
            continue;
        }
        let starts_git = START_GIT.iter().any(|file| path.ends_with(file));
        for text in source.strings() {
            scanned += 1;
            if starts_git && is_of_git(&text) {
                to_git += 1;
                continue;
            }
            assert_eq!(command_line(&text, &commands), None, "{}: the report words it", path.display());
        }
    }
    assert!(scanned > 5_000 && to_git > 5, "only {scanned} strings were read, {to_git} of them git's");
    let seen = |text| command_line(text, &commands);
    assert_eq!(seen("give it as --qnh."), Some("--qnh."));
    assert_eq!(seen("Make it with `reedbook bike new`."), Some("reedbook bike new`."));
    assert_eq!(seen("`reedbook rejet` says"), Some("reedbook rejet` says"));
    assert_eq!(seen("`git fsck` names it; git keeps it"), Some("`git fsck` names it; git keeps it"));
    assert_eq!(seen("git keeps it"), None);
    assert_eq!(seen("a dash -- and a reedbook; well--known; a newer reedbook may read it"), None);
    assert!(is_of_git("\"--porcelain\"") && !is_of_git("\"Say it with --sign.\""));
}

/// Only these tell inches from millimetres: the words of sizes, and the option that asks for them.
const TELL_UNITS_APART: [&str; 2] = ["words/sizes.rs", "commands/mod.rs"];

#[test]
fn reports_tell_units_apart_in_one_place() {
    let mut scanned = 0;
    for (path, source) in sources() {
        let shows = matches!(source.floor(), Some("report" | "commands"));
        if !shows || TELL_UNITS_APART.iter().any(|place| path.ends_with(place)) {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        for sign in ["Units::Imperial", "25.4", "0.0254", "* 1.8", "/ 1.8", "0.3048"] {
            assert!(!text.contains(sign), "{} has {sign}: report/words/sizes.rs converts", path.display());
        }
        scanned += 1;
    }
    assert!(scanned > 60, "only {scanned} sources were read");
}

/// The folders of commands that belong together: each file in them is a command by itself.
const SHELVES: [&str; 3] = ["ask", "compute", "program"];

/// The command that a module path below `commands` belongs to: its folder, or its file on a shelf.
fn command_of(below: &[String]) -> Option<String> {
    let (first, rest) = below.split_first()?;
    match rest.first() {
        Some(file) if SHELVES.contains(&first.as_str()) => Some(format!("{first}::{file}")),
        _ => Some(first.clone()),
    }
}

/// What is named through the room of all commands, or through a shelf, would be seen under another name than its own.
#[test]
fn rooms_of_several_commands_pass_nothing_on() {
    let mut rooms = 0;
    for (path, source) in sources() {
        let is_room = match source.module() {
            [floor] => floor == "commands",
            [floor, shelf] => floor == "commands" && SHELVES.contains(&shelf.as_str()),
            _ => false,
        };
        if is_room {
            assert!(!source.passes_on(), "{} passes a command's own on", path.display());
            rooms += 1;
        }
    }
    assert_eq!(rooms, 1 + SHELVES.len());
    let passes_on = |text| Source::of("commands::ask", text).passes_on();
    assert!(passes_on("pub(super) mod now; pub(in crate::commands) use now::Now;"));
    assert!(passes_on("pub use self::now::Now;"));
    assert!(!passes_on("pub(super) mod now; use now::Now; pub struct Use(Now);"));
}

/// What commands work with and what several of them take.
const OF_ALL_COMMANDS: [&str; 2] = ["desk", "options"];

/// The parts of one command, in a folder of its own, may import each other; no command imports another, and what several
/// take stands among the options.
#[test]
fn commands_do_not_import_each_other() {
    let commands: Vec<(PathBuf, Source)> =
        sources().into_iter().filter(|(_, source)| source.floor() == Some("commands")).collect();
    let own: BTreeSet<String> =
        commands.iter().filter_map(|(_, source)| command_of(&source.module()[1..])).collect();
    let mut scanned = 0;
    for (path, source) in &commands {
        let Some(command) = command_of(&source.module()[1..]) else { continue };
        for named in source.names() {
            let [floor, below @ ..] = named.as_slice() else { continue };
            let Some(other) = command_of(below) else { continue };
            let another = floor == "commands" && other != command && own.contains(&other);
            let shared = OF_ALL_COMMANDS.contains(&other.as_str());
            assert!(!another || shared, "{} imports the command {other}", path.display());
        }
        scanned += 1;
    }
    assert!(scanned > 12 && own.contains("build") && own.contains("compute::ports"));
    let named = |text: &str| Source::of("commands", text).names();
    let of = |text: &str| named(text).first().and_then(|path| command_of(&path[1..]));
    assert_eq!(of("use crate::commands::compute::ports::Ports;").as_deref(), Some("compute::ports"));
    assert_eq!(of("use crate::commands::rejet::card::card_of;").as_deref(), Some("rejet"));
}

/// A room keeps few enough files to be seen at once.
#[test]
fn rooms_stay_small() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files: std::collections::BTreeMap<PathBuf, usize> = std::collections::BTreeMap::new();
    for path in files_under(&root) {
        *files.entry(path.parent().unwrap().to_path_buf()).or_default() += 1;
    }
    assert!(files.len() > 60, "only {} rooms were seen", files.len());
    for (room, files) in files {
        assert!(files <= 15, "{} has {files} files: which idea wants a room of its own?", room.display());
    }
}

#[test]
fn files_stay_short() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for path in files_under(&root.join("src")).into_iter().chain(files_under(&root.join("tests"))) {
        let lines = fs::read_to_string(&path).unwrap().lines().count();
        assert!(lines <= 500, "{} has {lines} lines", path.display());
    }
}
