//! The README's tour is run on a fresh demo garage, and its output must be what the README shows. `UPDATE_README=1 cargo
//! test --test garage readme` writes the output anew.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::common::copy;
use crate::replayed::{demo, temporary_folder};

/// The day on which the README's tour is taken.
const NOW: &str = "2026-10-10T13:40+02:00";

#[test]
fn the_tour_shows_what_the_program_answers() {
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let text = fs::read_to_string(&readme).unwrap();
    let folder = temporary_folder();
    fs::write(folder.path().join(".gitconfig"), "[user]\n\tname = Ana\n\temail = ana@example.org\n").unwrap();
    let garage = folder.path().join("reedbook-demo");
    copy(&demo().0, &garage);
    let home = folder.path();
    let mut shown = String::new();
    let mut commands = 0;
    let mut inside = false;
    for line in text.lines() {
        if line == "```console" {
            inside = true;
        } else if line.starts_with("```") {
            inside = false;
        }
        let typed = line.strip_prefix("$ reedbook ");
        if inside && !line.starts_with("$ ") && line != "```console" {
            continue;
        }
        shown.push_str(line);
        shown.push('\n');
        if let Some(typed) = typed.filter(|_| inside) {
            commands += 1;
            let words = split(typed);
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            shown.push_str(run(home, &garage, &words).trim_end());
            shown.push('\n');
        }
    }
    assert!(commands >= 10, "only {commands} commands were found in the README");
    if std::env::var("UPDATE_README").is_ok() {
        fs::write(&readme, &shown).unwrap();
    }
    let different = text.lines().zip(shown.lines()).find(|(is, should)| is != should);
    assert_eq!(different, None, "the README shows something else (UPDATE_README=1 writes it anew)");
    assert_eq!(text.lines().count(), shown.lines().count());
    let wide = shown.lines().find(|line| !line.starts_with("$ ") && line.chars().count() > 126);
    assert_eq!(wide, None);
}

/// Words of a command line; double quotes hold words together.
fn split(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            other => words.last_mut().unwrap().push(other),
        }
    }
    words
}

fn run(home: &Path, folder: &Path, words: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_reedbook"))
        .args(words)
        .current_dir(folder)
        .env_clear()
        .env("HOME", home)
        .env("TZ", "UTC")
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("REEDBOOK_NOW", NOW)
        .env("REEDBOOK_IDS", "readme")
        .output()
        .unwrap();
    assert!(output.status.success(), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}
