//! The machine the program runs on: its clock, its environment, its randomness and its editor. Nothing else asks for them,
//! so that a test can hold them still: `REEDBOOK_NOW` fixes the clock, `REEDBOOK_IDS` makes identities repeatable.

#![allow(clippy::disallowed_methods)] // this is the one module that may

use std::ffi::OsStr;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use jiff::ZonedDateTime;
use jiff::tz::Offset;

use crate::notebook::{DateError, When};

/// When something happens and how it is named: handed down to whatever writes.
#[derive(Debug, Clone)]
pub struct Moment {
    /// The present.
    pub now: When,
    /// Fixed seed of identities, or none for random ones.
    pub seed: Option<String>,
}

impl Moment {
    /// The machine's present; `REEDBOOK_NOW` and `REEDBOOK_IDS` take its place in tests.
    pub fn of_the_machine() -> Result<Self, DateError> {
        Ok(Self { now: present()?, seed: variable("REEDBOOK_IDS") })
    }

    /// A new identity of 12 hex digits. `salt` tells apart what is named in the same moment under a fixed seed.
    pub fn new_id(&self, salt: &str) -> String {
        let bits = match &self.seed {
            Some(seed) => fnv(&format!("{seed}\n{}\n{salt}", self.now)),
            None => getrandom::u64()
                .unwrap_or_else(|_| fnv(&format!("{salt}\n{}\n{}", nanoseconds(), std::process::id()))),
        };
        format!("{:012x}", bits & 0xffff_ffff_ffff)
    }
}

/// Bytes that nobody can guess; fails where the machine has none to give.
pub fn secret<const N: usize>() -> std::io::Result<[u8; N]> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|error| std::io::Error::other(error.to_string()))?;
    Ok(bytes)
}

/// Time since the first call, by a clock that nobody sets.
pub fn ticking() -> Duration {
    static START: OnceLock<Instant> = OnceLock::new();
    START.get_or_init(Instant::now).elapsed()
}

/// Time of the processor that this process has used; none where the system does not say.
pub fn processor_time() -> Option<Duration> {
    #[cfg(unix)]
    return rustix::time::clock_gettime(rustix::time::ClockId::ProcessCPUTime).try_into().ok();
    #[cfg(not(unix))]
    return None;
}

/// Ends the program at once, whatever its other threads do.
pub fn end(code: u8) -> ! {
    std::process::exit(i32::from(code))
}

fn clock() -> When {
    When::from_zoned(&ZonedDateTime::now())
}

fn present() -> Result<When, DateError> {
    variable("REEDBOOK_NOW").map_or_else(|| Ok(clock()), |text| When::parse(&text, clock().offset()))
}

/// The offset from universal time at this place, now; that of `REEDBOOK_NOW` where it is set.
pub fn offset_here() -> Offset {
    present().unwrap_or_else(|_| clock()).offset()
}

/// The identity that follows from a text: 12 hex digits, always the same for the same text.
pub fn id_of(text: &str) -> String {
    format!("{:012x}", fnv(text) & 0xffff_ffff_ffff)
}

/// Fowler-Noll-Vo 1a with 64 bits: spreads a seed, protects nothing.
fn fnv(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

/// Nanoseconds since 1970 on the system's clock, for telling fresh files from old ones.
pub fn nanoseconds() -> i64 {
    SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .ok()
        .and_then(|since| i64::try_from(since.as_nanos()).ok())
        .unwrap_or(0)
}

/// The words of the command line, without the program's name.
pub fn arguments() -> impl Iterator<Item = String> {
    std::env::args_os().skip(1).map(|word| word.to_string_lossy().into_owned())
}

/// An environment variable that is set and not empty.
pub fn variable(name: &str) -> Option<String> {
    std::env::var(name).ok().filter(|value| !value.is_empty())
}

/// The folder the program was started in.
pub fn current_folder() -> std::io::Result<PathBuf> {
    std::env::current_dir()
}

/// Identity of this process, for the writer's lock.
pub fn process_id() -> u32 {
    std::process::id()
}

/// How a process stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProcessState {
    /// It is there, and goes on by itself.
    Lives,
    /// It is there, and somebody stopped it: it goes on when it is told to.
    Stopped,
    /// There is none of that number.
    Gone,
}

/// How the process of a number stands; none where the system does not say.
pub fn process_state(number: u32) -> Option<ProcessState> {
    let about = |who: &str| std::fs::read_to_string(format!("/proc/{who}/stat"));
    about("self").ok()?;
    let Ok(stat) = about(&number.to_string()) else { return Some(ProcessState::Gone) };
    // Behind its name, which may hold anything.
    let state = stat.rsplit(')').next()?.trim_start().chars().next()?;
    Some(match state {
        'T' => ProcessState::Stopped,
        'Z' | 'X' => ProcessState::Gone,
        _ => ProcessState::Lives,
    })
}

/// What a program said that was waited for.
#[derive(Debug, Clone)]
pub struct ProgramOutput {
    /// Whether it was content.
    pub done: bool,
    /// Its standard output.
    pub out: String,
    /// Its standard error.
    pub err: String,
}

/// Runs the user's own git in a repository of ours and waits: its settings are the user's and that repository's, never those of the
/// garage around it. What it must ask, a pass phrase, it asks at the terminal.
pub fn git(
    repository: &Path,
    words: &[&str],
    variables: &[(&str, &OsStr)],
) -> std::io::Result<ProgramOutput> {
    let mut git = Command::new("git");
    git.current_dir(repository).env("GIT_DIR", repository).env("LC_ALL", "C");
    for name in [
        "GIT_WORK_TREE",
        "GIT_INDEX_FILE",
        "GIT_COMMON_DIR",
        "GIT_NAMESPACE",
        "GIT_ALTERNATE_OBJECT_DIRECTORIES",
    ] {
        git.env_remove(name);
    }
    git.args(words).envs(variables.iter().copied()).stdin(std::process::Stdio::null());
    let output = git.output()?;
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    Ok(ProgramOutput { done: output.status.success(), out: text(&output.stdout), err: text(&output.stderr) })
}

/// Runs a program of the user's, gives it something to read, and waits. What it must ask, it asks at the terminal.
pub fn feed(program: &str, words: &[&str], input: &[u8]) -> std::io::Result<ProgramOutput> {
    let piped = std::process::Stdio::piped;
    let mut child =
        Command::new(program).args(words).stdin(piped()).stdout(piped()).stderr(piped()).spawn()?;
    let mut paper = child.stdin.take();
    let output = std::thread::scope(|scope| {
        scope.spawn(move || {
            if let Some(paper) = paper.as_mut() {
                // A reader that has seen enough closes the pipe: no error.
                let _ = paper.write_all(input);
            }
        });
        child.wait_with_output()
    })?;
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    Ok(ProgramOutput { done: output.status.success(), out: text(&output.stdout), err: text(&output.stderr) })
}

/// Whether a file of the user's own is there, outside any garage.
pub fn is_there(file: &Path) -> bool {
    file.is_file()
}

/// A file that is there only as long as it is held, for a program that reads nothing else.
#[derive(Debug)]
pub struct Temporary(PathBuf);

impl Temporary {
    /// Writes it, readable by nobody else, under a name that nobody can foretell.
    pub fn with(bytes: &[u8]) -> std::io::Result<Self> {
        let name = getrandom::u64().map_err(|error| std::io::Error::other(error.to_string()))?;
        let path = std::env::temp_dir().join(format!("reedbook-{name:016x}"));
        let mut options = std::fs::OpenOptions::new();
        options.write(true).create_new(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let mut file = options.open(&path)?;
        let held = Self(path);
        file.write_all(bytes)?;
        Ok(held)
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Temporary {
    fn drop(&mut self) {
        // Left behind it hurts nobody: a signature, or the public half of a key.
        let _ = std::fs::remove_file(&self.0);
    }
}

/// Whether the user has set an editor.
pub fn has_editor() -> bool {
    variable("VISUAL").or_else(|| variable("EDITOR")).is_some()
}

/// Opens files in the user's own editor (`VISUAL`, else `EDITOR`) and waits; false when none is set.
pub fn edit(files: &[PathBuf]) -> std::io::Result<bool> {
    let Some(editor) = variable("VISUAL").or_else(|| variable("EDITOR")) else {
        return Ok(false);
    };
    let mut words = editor.split_whitespace();
    let Some(program) = words.next() else {
        return Ok(false);
    };
    let status = Command::new(program).args(words).args(files).status()?;
    if status.success() {
        Ok(true)
    } else {
        Err(std::io::Error::other(format!("the editor {program} ended with {status}")))
    }
}

/// Shows a text in the user's pager (`PAGER`, else less) and waits; false where there is none, it could not be started or it
/// ended badly: then the text is still to be shown. Who quits it early has seen enough.
pub fn page(text: &str) -> bool {
    // A pager that nobody named wants a terminal that can move its cursor.
    let bare = variable("TERM").is_none_or(|terminal| terminal == "dumb");
    let usual = if bare { "" } else { "less" };
    let set = std::env::var("PAGER").unwrap_or_else(|_| usual.into());
    let mut words = set.split_whitespace();
    let Some(program) = words.next().filter(|program| *program != "cat") else {
        return false;
    };
    let mut pager = Command::new(program);
    pager.args(words).stdin(std::process::Stdio::piped());
    if std::env::var_os("LESS").is_none() {
        // Quits by itself where it all fits, keeps bold and colour, leaves the screen as it is.
        pager.env("LESS", "FRX");
    }
    let Ok(mut child) = pager.spawn() else { return false };
    if let Some(mut paper) = child.stdin.take() {
        // A reader that has seen enough closes the pipe: no error.
        let _ = paper.write_all(text.as_bytes());
    }
    child.wait().is_ok_and(|status| status.success())
}
