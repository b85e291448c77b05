//! What the README and the tour of the guide have typed is run on a fresh demo garage each, and its output must be what they
//! show. `UPDATE_README=1 cargo test --test garage readme` writes the output of both anew.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::replayed::{demo, demo_in, temporary_folder};

/// The day on which they are typed.
const NOW: &str = "2026-10-10T13:40+02:00";

#[test]
fn the_readme_shows_what_the_program_answers() {
    shows_what_the_program_answers(Path::new("README.md"), 8);
    let lines = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap();
    assert!(
        lines.lines().count() <= 250,
        "{} lines: what is long goes into the guide",
        lines.lines().count()
    );
}

/// The README's picture is what its command draws; `UPDATE_README=1` draws it anew.
#[test]
fn the_picture_of_the_readme_is_what_the_program_draws() {
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/guide/jets.png");
    let folder = temporary_folder();
    let drawn = folder.path().join("jets.png");
    let done = Command::new(env!("CARGO_BIN_EXE_reedbook"))
        .args([
            "sheet",
            "ibex",
            "--png",
            "jets",
            "--temp",
            "12 C",
            "--baro",
            "930 hPa",
            "--humidity",
            "60",
            "--to",
        ])
        .arg(&drawn)
        .current_dir(&demo().0)
        .env("REEDBOOK_NOW", NOW)
        .output()
        .unwrap();
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    let pixels = |file: &Path| {
        let file = std::io::BufReader::new(fs::File::open(file).unwrap());
        let mut reader = png::Decoder::new(file).read_info().unwrap();
        let mut grey = vec![0; reader.output_buffer_size().unwrap()];
        let frame = reader.next_frame(&mut grey).unwrap();
        (frame.width, frame.height, grey)
    };
    let now = pixels(&drawn);
    let same = kept.exists() && {
        let then = pixels(&kept);
        // What rounds otherwise on another machine moves the shade of an edge, and no mark.
        let moved = now.2.iter().zip(&then.2).filter(|(now, then)| now.abs_diff(**then) > 40).count();
        (now.0, now.1) == (then.0, then.1) && moved * 1_000 < now.2.len()
    };
    if !same && std::env::var_os("UPDATE_README").is_some() {
        fs::copy(&drawn, &kept).unwrap();
    }
    assert!(same, "{} is another picture: UPDATE_README=1 draws it anew", kept.display());
    assert!(fs::metadata(&kept).unwrap().len() < 30_000);
}

#[test]
fn the_guides_readme_tour_shows_what_the_program_answers() {
    shows_what_the_program_answers(Path::new("src/guide/tour.md"), 15);
}

#[test]
fn the_guides_readme_page_on_sharing_shows_what_the_program_answers() {
    shows_what_the_program_answers(Path::new("src/guide/sharing.md"), 5);
}

/// No other page of the guide shows an answer that nobody checks.
#[test]
fn only_pages_that_are_run_show_answers() {
    let mut pages = 0;
    for entry in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/guide")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "png") {
            continue;
        }
        let answers = fs::read_to_string(&path).unwrap().contains("```console");
        assert_eq!(
            answers,
            path.ends_with("tour.md") || path.ends_with("sharing.md"),
            "{}: run it here as well",
            path.display()
        );
        pages += 1;
    }
    assert!(pages >= 7, "only {pages} pages were read");
}

/// Runs what a page has typed on a fresh demo garage, and holds the page to what is answered.
fn shows_what_the_program_answers(page: &Path, least: usize) {
    let name = page.display();
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join(page);
    let text = fs::read_to_string(&page).unwrap();
    let folder = temporary_folder();
    fs::write(folder.path().join(".gitconfig"), "[user]\n\tname = Ana\n\temail = ana@example.org\n").unwrap();
    let garage = folder.path().join("reedbook-demo");
    demo_in(&garage);
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
    assert!(commands >= least, "only {commands} commands were found in {name}");
    if std::env::var("UPDATE_README").is_ok() {
        fs::write(&page, &shown).unwrap();
    }
    let different = text.lines().zip(shown.lines()).find(|(is, should)| is != should);
    assert_eq!(different, None, "{name} shows something else (UPDATE_README=1 writes it anew)");
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
