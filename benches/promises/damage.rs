//! Any one file is damaged: every command answers or says what is wrong, in five seconds and without a panic; what is wrong with a file
//! that holds a record is named by `garage check`; and with the file put back everything is as it was.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Output, Stdio};
use std::time::{Duration, Instant};

use super::Kept;
use super::shed::Shed;

const ASKED: [&[&str]; 4] = [
    &["outing", "list", "moth"],
    &["history", "moth"],
    &["rejet", "moth", "--temp", "20", "--baro", "1000", "--humidity", "50"],
    &["garage", "check"],
];
const SOON: Duration = Duration::from_secs(5);

pub(crate) fn tried() -> Vec<Kept> {
    let shed = Shed::new();
    let mut answers = Kept::new("any one file empty, cut, flipped or gone: answered or said, 5 s");
    let mut named = Kept::new("a damaged record is named by garage check");
    let mut back = Kept::new("put back, everything is as it was");
    let mut files = Vec::new();
    walk(&shed.root(), &mut files);
    for file in files {
        let bytes = fs::read(&file).unwrap();
        let name = file.strip_prefix(shed.root()).unwrap().to_string_lossy().into_owned();
        for damage in ["empty", "cut", "flipped", "gone"] {
            let worse = (damage != "gone").then(|| damaged(&bytes, damage));
            if worse.as_ref() == Some(&bytes) {
                continue;
            }
            put(&file, worse.as_deref());
            let at = format!("{name} {damage}");
            let mut check = false;
            for words in ASKED {
                let Some(done) = soon(&shed, words) else {
                    answers.tried(Err(format!("{at}: {words:?} takes more than 5 s")));
                    check = true; // Counted above.
                    continue;
                };
                let plain = matches!(done.status.code(), Some(0..=3));
                let said = done.status.success() || !done.stderr.is_empty() || !done.stdout.is_empty();
                // Lines are broken where they are long. The last that is asked is the check.
                let told = [done.stdout.as_slice(), &done.stderr].concat();
                let all: String = String::from_utf8_lossy(&told).split_whitespace().collect();
                check = all.contains(&*name);
                answers.tried(if plain && said {
                    Ok(())
                } else {
                    Err(format!(
                        "{at}: {words:?} {:?} {}",
                        done.status,
                        String::from_utf8_lossy(&done.stderr)
                    ))
                });
            }
            let of_git = name.starts_with(".git/");
            if !of_git {
                named.tried(if check { Ok(()) } else { Err(format!("{at}: not named")) });
            }
            put(&file, Some(&bytes));
        }
    }
    back.tried(shed.holds(&[]));
    vec![answers, named, back]
}

/// What a command answers; none where it takes too long, and is ended.
fn soon(shed: &Shed, words: &[&str]) -> Option<Output> {
    let mut child = shed.command(&[], words).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let begun = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if begun.elapsed() > SOON {
            child.kill().unwrap();
            child.wait().unwrap();
            return None;
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    Some(child.wait_with_output().unwrap())
}

fn walk(folder: &Path, files: &mut Vec<PathBuf>) {
    let mut entries: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() { walk(&path, files) } else { files.push(path) }
    }
}

/// The bytes after a damage.
fn damaged(bytes: &[u8], damage: &str) -> Vec<u8> {
    let half = bytes.len() / 2;
    match damage {
        "empty" => Vec::new(),
        "cut" => bytes[..half].to_vec(),
        _ => {
            bytes.iter().enumerate().map(|(at, byte)| if at == half { byte ^ 0x15 } else { *byte }).collect()
        }
    }
}

/// Git's own objects are written read-only: a new file takes their place.
fn put(file: &Path, bytes: Option<&[u8]>) {
    drop(fs::remove_file(file));
    if let Some(bytes) = bytes {
        fs::write(file, bytes).unwrap();
    }
}
