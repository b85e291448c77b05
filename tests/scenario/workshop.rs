//! The sealed place a scenario runs in: its own home, clock, names and dates, no settings of the machine.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::{Arc, Mutex, OnceLock};

use super::broken;
use super::transcript::{self, FileAct, Step};
use crate::temporary::{self, shared_folder, temporary_folder};

/// Who records, in every scenario that does not take the name away. Invented.
const IDENTITY: &str = "[user]\n\tname = Saara Ventell\n\temail = saara@fenside.example\n";
/// When a scenario begins.
const BEGIN: &str = "2026-05-15T08:00+02:00";
/// Git's orders that a scenario may give.
const GIT: [&str; 13] = [
    "init", "clone", "config", "checkout", "add", "commit", "status", "log", "show", "fsck", "branch", "rm",
    "restore",
];
/// Columns of an answer in words, where the scenario says no others.
const WIDTH: usize = 80;

/// A place with what happened in it so far.
pub(crate) struct Workshop {
    folder: tempfile::TempDir,
    /// What a transcript calls [ROOT].
    root: PathBuf,
    here: PathBuf,
    pub(crate) known: Known,
    /// Folders that were made read-only.
    read_only: Vec<PathBuf>,
    /// Whether anything was done here.
    begun: bool,
}

/// What is remembered of what happened, besides what lies in the folders.
#[derive(Clone)]
pub(crate) struct Known {
    now: String,
    /// Identities in the order in which they were seen.
    ids: Vec<String>,
    /// Columns of the screen, where it is another one.
    columns: Option<usize>,
    /// Names of more than one word that were typed: no line may break in them.
    names: BTreeSet<String>,
    /// Lines wider than the screen.
    pub(crate) wide: Vec<String>,
    /// Places where a line broke in something that belongs together.
    pub(crate) broken: Vec<String>,
}

impl Default for Known {
    fn default() -> Self {
        let (ids, names) = (Vec::new(), BTreeSet::new());
        Self { now: BEGIN.to_owned(), ids, columns: None, names, wide: Vec::new(), broken: Vec::new() }
    }
}

/// What is made once, by whoever comes first.
type Once = Arc<OnceLock<Result<Made, String>>>;

/// What came of a transcript that scenarios begin with.
struct Made {
    folder: PathBuf,
    /// Where it ended, below the working folder.
    here: PathBuf,
    known: Known,
}

/// What one step came to.
pub(crate) enum Came {
    /// Nothing to be shown.
    Silent,
    /// Printed lines.
    Printed(Vec<String>),
    /// The rest cannot be tried on this machine.
    Skip(String),
}

impl Workshop {
    /// A fresh one.
    pub(crate) fn new() -> Self {
        let folder = temporary_folder();
        let top = folder.path().canonicalize().expect("the folder just made");
        let (root, home) = (top.join("work"), top.join("home"));
        fs::create_dir(&root).expect("its working folder");
        fs::create_dir(&home).expect("its home");
        fs::write(home.join(".gitconfig"), IDENTITY).expect("git's settings");
        Self {
            folder,
            here: root.clone(),
            root,
            known: Known::default(),
            read_only: Vec::new(),
            begun: false,
        }
    }

    /// Does one step.
    pub(crate) fn play(&mut self, step: &Step, inputs: &Path) -> Result<Came, String> {
        if let Step::Given(name) = step {
            let came = self.given(name, inputs).map(|()| Came::Silent);
            self.begun = true;
            return came;
        }
        self.begun |= !matches!(step, Step::Remark(_));
        match step {
            Step::Remark(_) | Step::Given(_) => Ok(Came::Silent),
            Step::File { name, act } => self.file(name, act, inputs).map(|()| Came::Silent),
            Step::Command { typed, .. } => self.command(typed),
        }
    }

    /// Does what many scenarios begin with: once, where nothing was done before it, and copies what came of it.
    fn given(&mut self, name: &str, inputs: &Path) -> Result<(), String> {
        static MADE: Mutex<BTreeMap<String, Once>> = Mutex::new(BTreeMap::new());
        if self.begun {
            return self.play_given(name, inputs);
        }
        let made = MADE.lock().expect("no scenario fails here").entry(name.to_owned()).or_default().clone();
        let make = || {
            let mut other = Self::new();
            other.play_given(name, inputs)?;
            let inner = other.here.strip_prefix(&other.root).map_err(|error| error.to_string())?;
            let folder = shared_folder().join("given").join(name);
            temporary::copy(other.folder.path(), &folder, &|_| false);
            Ok(Made { folder, here: inner.to_owned(), known: std::mem::take(&mut other.known) })
        };
        let made = made.get_or_init(make).as_ref().map_err(Clone::clone)?;
        let (home, root) = (self.home(), self.root.clone());
        temporary::copy(&made.folder.join("home"), &home, &|_| false);
        temporary::copy(&made.folder.join("work"), &root, &|_| false);
        self.here = root.join(&made.here);
        self.known = made.known.clone();
        Ok(())
    }

    fn play_given(&mut self, name: &str, inputs: &Path) -> Result<(), String> {
        let text = read(&inputs.join(format!("{name}.txt")))?;
        for step in transcript::parse(&text)? {
            if let Came::Printed(lines) = self.play(&step, inputs)?
                && let Some(bad) =
                    lines.iter().find(|line| line.starts_with('!') || line.starts_with("[exit"))
            {
                return Err(format!("{name}, which is given, fails at {step:?}: {bad}"));
            }
        }
        Ok(())
    }

    fn file(&self, name: &str, act: &FileAct, inputs: &Path) -> Result<(), String> {
        let path = self.here.join(self.real(name));
        let text = match act {
            FileAct::Write(lines) => joined(lines),
            FileAct::Append(lines) => read(&path)? + &joined(lines),
            FileAct::From(input) => read(&inputs.join(input))?,
            FileAct::Replace(old, new) => {
                let text = read(&path)?;
                if text.matches(old.as_str()).count() != 1 {
                    return Err(format!("{name} does not hold \"{old}\" once"));
                }
                text.replacen(old.as_str(), new, 1)
            }
        };
        if let Some(above) = path.parent() {
            fs::create_dir_all(above).map_err(|error| format!("{}: {error}", above.display()))?;
        }
        fs::write(&path, text).map_err(|error| format!("{name}: {error}"))
    }

    fn command(&mut self, typed: &str) -> Result<Came, String> {
        let (line, input) = match typed.split_once(" < ") {
            Some((line, file)) => (line, Some(self.here.join(file))),
            None => (typed, None),
        };
        let words: Vec<String> = transcript::words(line)?.iter().map(|word| self.real(word)).collect();
        let (verb, rest) = words.split_first().ok_or("an empty command")?;
        let first = rest.first().map(String::as_str);
        match (verb.as_str(), first) {
            ("reedbook", _) => self.reedbook(rest, input.as_deref()),
            ("git", Some(order)) if GIT.contains(&order) => {
                let output = self.run("git", rest, None)?;
                Ok(Came::Printed(self.lines(&output)))
            }
            ("cat", Some(name)) => {
                let text = read(&self.here.join(name))?;
                Ok(Came::Printed(self.hide(&transcript::shown(&text, "", 0))))
            }
            ("clock", Some(now)) => {
                now.clone_into(&mut self.known.now);
                Ok(Came::Silent)
            }
            ("cd", Some(folder)) => {
                self.here =
                    self.here.join(folder).canonicalize().map_err(|error| format!("{folder}: {error}"))?;
                Ok(Came::Silent)
            }
            ("columns", Some(columns)) => {
                let columns = columns.parse().map_err(|_| format!("no number of columns: {columns}"))?;
                self.known.columns = (columns != WIDTH).then_some(columns);
                Ok(Came::Silent)
            }
            ("mkdir", Some(folder)) => done(fs::create_dir_all(self.here.join(folder))),
            ("rm", Some(name)) => {
                let path = self.here.join(name);
                done(if path.is_dir() { fs::remove_dir_all(path) } else { fs::remove_file(path) })
            }
            ("crlf", Some(name)) => {
                let path = self.here.join(name);
                done(fs::write(&path, read(&path)?.replace('\n', "\r\n")))
            }
            ("nameless", None) => done(fs::write(self.home().join(".gitconfig"), "")),
            ("readonly", Some(folder)) => self.read_only(folder),
            _ => Err(format!("a scenario cannot run \"{typed}\"")),
        }
    }

    fn reedbook(&mut self, arguments: &[String], input: Option<&Path>) -> Result<Came, String> {
        let output = self.run(env!("CARGO_BIN_EXE_reedbook"), arguments, input)?;
        let for_people = !arguments.iter().any(|argument| argument == "--json" || argument == "--csv");
        let out = String::from_utf8_lossy(&output.stdout).replace(&self.shown_root(), "[ROOT]");
        if let Some(bad) = out.chars().find(|c| c.is_control() && *c != '\n') {
            return Err(format!("a control character reached the screen: {}", bad.escape_unicode()));
        }
        let error = String::from_utf8_lossy(&output.stderr).replace(&self.shown_root(), "[ROOT]");
        let width = self.known.columns.unwrap_or(WIDTH);
        // A command to be typed is not broken, however long it is, and no more is a word.
        let may_be_wide = |line: &str| {
            line.trim_start().starts_with("reedbook ")
                || !line.trim_start().trim_start_matches("! ").contains(' ')
        };
        let lines = || out.lines().chain(error.lines()).filter(|_| for_people);
        let wide = lines().filter(|line| line.chars().count() > width && !may_be_wide(line));
        self.known.wide.extend(wide.map(str::to_owned));
        self.known.names.extend(broken::names(arguments));
        let asks_for_help = arguments.is_empty()
            || arguments.iter().any(|word| matches!(word.as_str(), "-h" | "--help" | "help" | "guide"));
        if for_people && !asks_for_help {
            for text in [&out, &error] {
                self.known.broken.extend(broken::found(text, &self.known.names, width));
            }
        }
        Ok(Came::Printed(self.lines(&output)))
    }

    /// Runs a program that sees nothing of this machine but its own folder.
    fn run(&self, program: &str, arguments: &[String], input: Option<&Path>) -> Result<Output, String> {
        let input = match input {
            Some(file) => {
                Stdio::from(fs::File::open(file).map_err(|error| format!("{}: {error}", file.display()))?)
            }
            None => Stdio::null(),
        };
        let mut command = Command::new(program);
        command.args(arguments).current_dir(&self.here).stdin(input).env_clear();
        command.env("PATH", std::env::var_os("PATH").unwrap_or_default());
        command.env("HOME", self.home()).env("XDG_CONFIG_HOME", self.home().join("none"));
        command.env("GIT_CONFIG_NOSYSTEM", "1").env("GIT_CONFIG_GLOBAL", self.home().join(".gitconfig"));
        command.env("GIT_AUTHOR_DATE", &self.known.now).env("GIT_COMMITTER_DATE", &self.known.now);
        if let Some(columns) = self.known.columns {
            command.env("COLUMNS", columns.to_string());
        }
        command.env("REEDBOOK_NOW", &self.known.now).env("REEDBOOK_IDS", "test");
        command.env("TZ", "UTC").env("LC_ALL", "C.UTF-8").env("NO_COLOR", "1").env("TERM", "dumb");
        command.output().map_err(|error| format!("{program} does not start: {error}"))
    }

    /// Whether git finds every repository of the scenario sound.
    pub(crate) fn git_is_content(&self) -> Result<(), String> {
        if !self.root.join(".git").exists() {
            return Ok(());
        }
        let arguments =
            ["-C", &self.root.to_string_lossy(), "fsck", "--strict", "--no-progress"].map(str::to_owned);
        let output = self.run("git", &arguments, None)?;
        if output.status.success() {
            return Ok(());
        }
        Err(format!("git fsck is not content: {}", String::from_utf8_lossy(&output.stderr)))
    }

    fn home(&self) -> PathBuf {
        self.folder.path().join("home")
    }

    fn shown_root(&self) -> String {
        self.root.to_string_lossy().into_owned()
    }

    fn lines(&mut self, output: &Output) -> Vec<String> {
        let out = String::from_utf8_lossy(&output.stdout);
        let error = String::from_utf8_lossy(&output.stderr);
        self.hide(&transcript::shown(&out, &error, output.status.code().unwrap_or(-1)))
    }

    /// Puts names for what another machine or another schema would change: the folder, the identities, the commits.
    fn hide(&mut self, lines: &[String]) -> Vec<String> {
        let root = self.shown_root();
        let above = self.root.parent().map(|above| above.to_string_lossy().into_owned()).unwrap_or_default();
        let shown = |line: &String| line.replace(&root, "[ROOT]").replace(&above, "[ABOVE]");
        lines.iter().map(|line| self.hide_ids(&shown(line))).collect()
    }

    fn hide_ids(&mut self, line: &str) -> String {
        let mut text = String::new();
        for word in line.split_inclusive(|letter: char| !letter.is_ascii_alphanumeric()) {
            let hex = word.trim_end_matches(|letter: char| !letter.is_ascii_alphanumeric());
            let is_hex = hex.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'));
            match hex.len() {
                12 if is_hex => {
                    let known = self.known.ids.iter().position(|id| id == hex);
                    let place = known.unwrap_or_else(|| {
                        self.known.ids.push(hex.to_owned());
                        self.known.ids.len() - 1
                    });
                    text.push_str(&name_of(place));
                }
                40 if is_hex => text.push_str("[COMMIT]"),
                _ => text.push_str(hex),
            }
            text.push_str(&word[hex.len()..]);
        }
        text
    }

    /// Makes a folder read-only, and gives the rest up where that does not keep anybody from writing, as for root.
    fn read_only(&mut self, folder: &str) -> Result<Came, String> {
        let folder = self.here.join(folder);
        allow(&folder, 0o555)?;
        let probe = folder.join("probe");
        self.read_only.push(folder);
        match fs::write(&probe, "") {
            Err(refused) if refused.kind() == ErrorKind::PermissionDenied => Ok(Came::Silent),
            _ => Ok(Came::Skip("this user may write in a read-only folder".to_owned())),
        }
    }

    /// What a name of [`Workshop::hide_ids`] stands for, so that a command can use it.
    fn real(&self, word: &str) -> String {
        let ids = self.known.ids.iter().enumerate();
        ids.fold(word.replace("[ROOT]", &self.shown_root()), |word, (place, id)| {
            word.replace(&name_of(place), id)
        })
    }
}

impl Drop for Workshop {
    /// A read-only folder could not be cleared away.
    fn drop(&mut self) {
        for folder in &self.read_only {
            let _ = allow(folder, 0o755);
        }
    }
}

/// Sets who may do what with a folder; where the system knows no such figures, nothing.
fn allow(folder: &Path, mode: u32) -> Result<(), String> {
    #[cfg(unix)]
    let set = {
        use std::os::unix::fs::PermissionsExt;
        fs::set_permissions(folder, fs::Permissions::from_mode(mode))
    };
    #[cfg(not(unix))]
    let set: std::io::Result<()> = Ok(());
    set.map_err(|error| format!("{} {mode:o}: {error}", folder.display()))
}

/// As long as the identity it stands for, so that nothing moves.
fn name_of(place: usize) -> String {
    format!("id-{:09}", place + 1)
}

fn done(result: std::io::Result<()>) -> Result<Came, String> {
    result.map(|()| Came::Silent).map_err(|error| error.to_string())
}

fn joined(lines: &[String]) -> String {
    lines.iter().map(|line| format!("{line}\n")).collect()
}

fn read(path: &Path) -> Result<String, String> {
    fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))
}
