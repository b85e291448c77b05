//! A garage as large as wanted: made by the program itself, its history then poured in by `git fast-import`.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Who records, by turns.
const PEOPLE: [&str; 10] = ["Ana", "Ben", "Cleo", "Dora", "Emil", "Fay", "Gus", "Hedy", "Ivo", "Jana"];
/// The beginning of the first season, Unix time in s.
const BEGIN: u64 = 1_300_000_000;
/// From one setup to the next, s.
const STEP: u64 = 5_400;

/// A garage with a history.
pub(crate) struct Large {
    folder: tempfile::TempDir,
    setups: usize,
    bikes: usize,
}

impl Large {
    /// With so many setups over 20 bikes, and half as many outings.
    pub(crate) fn new(setups: usize) -> Self {
        Self::with(setups, 20)
    }

    /// With so many setups over so many bikes, and half as many outings.
    pub(crate) fn with(setups: usize, bikes: usize) -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let large = Self { folder, setups, bikes };
        Self::program(large.folder.path(), &["garage", "new", "garage"]);
        for bike in 0..bikes {
            Self::program(&large.root(), &["bike", "new", &name(bike)]);
        }
        large.git(&["config", "user.name", "Ana"]);
        large.git(&["config", "user.email", "ana@shop.example"]);
        large.pour();
        large.git(&["reset", "-q", "--hard", "main"]);
        large.git(&["commit-graph", "write", "--reachable", "--changed-paths"]);
        large
    }

    /// Its folder.
    pub(crate) fn root(&self) -> PathBuf {
        self.folder.path().join("garage")
    }

    /// The folder that it lies in.
    pub(crate) fn above(&self) -> &Path {
        self.folder.path()
    }

    /// A bike of it.
    pub(crate) fn bike(&self) -> String {
        name(self.bikes / 2)
    }

    /// How many setups that bike has.
    pub(crate) fn setups_of_bike(&self) -> usize {
        self.setups / self.bikes
    }

    /// The commit of one of that bike's setups.
    pub(crate) fn commit(&self, number: usize) -> String {
        let id = identity((number.max(1) - 1) * self.bikes + self.bikes / 2);
        self.git(&["log", "--format=%H", "-1", &format!("--grep=Setup-Id: {id}")]).trim().to_owned()
    }

    /// A line for the shell that merges what was recorded in a clone beside it, a run on another bike each time.
    pub(crate) fn merge(&self) -> String {
        let clone = self.above().join("clone");
        if !clone.exists() {
            self.git(&["clone", "-q", "--no-local", ".", &clone.to_string_lossy()]);
        }
        let (bike, clone) = (name(1), clone.display());
        let file = format!("bikes/{bike}/outings/20400101-1000-00000000000{{}}.toml");
        let run = format!(
            "date = \"2040-01-01T10:0{{}}\"\nplace = \"Ebbrack\"\nsetup = \"{}\"\n\n[verdict]\nfull = \"right\"\n",
            identity(1)
        );
        let run = run.replace('\n', "\\n");
        format!(
            "{{ cd {clone} && git pull -q origin main && mkdir -p bikes/{bike}/outings && printf '{run}' > {file} && git add . && git -c user.name=Ben -c user.email=ben@shop.example commit -qm 'Outing of {bike}' && cd ../garage && echo {{}} >> peer && git add peer && git commit -qm here && git pull -q --no-rebase --no-edit {clone} main; }}"
        )
    }

    pub(crate) fn git(&self, words: &[&str]) -> String {
        let done = Command::new("git").args(words).current_dir(self.root()).output().expect("git runs");
        assert!(done.status.success(), "git {words:?}: {}", String::from_utf8_lossy(&done.stderr));
        String::from_utf8_lossy(&done.stdout).into_owned()
    }

    fn program(folder: &Path, words: &[&str]) {
        let done =
            Command::new(env!("CARGO_BIN_EXE_reedbook")).args(words).current_dir(folder).output().unwrap();
        assert!(done.status.success(), "{words:?}: {}", String::from_utf8_lossy(&done.stderr));
    }

    fn pour(&self) {
        let mut git = Command::new("git")
            .args(["fast-import", "--quiet", "--force"])
            .current_dir(self.root())
            .stdin(Stdio::piped())
            .spawn()
            .expect("git runs");
        let mut to = std::io::BufWriter::new(git.stdin.take().unwrap());
        let mut numbers = vec![String::new(); self.bikes];
        for turn in 0..self.setups {
            let (bike, from) = (turn % self.bikes, if turn == 0 { "from refs/heads/main^0\n" } else { "" });
            let number = turn / self.bikes + 1;
            let id = identity(turn);
            writeln!(numbers[bike], "{number} {id}").unwrap();
            let time = BEGIN + turn as u64 * STEP;
            let why =
                format!("Change {number} for {}\n\nBike: {}\nSetup-Id: {id}\n", place(turn), name(bike));
            let files = [
                (format!("bikes/{}/setup.toml", name(bike)), setup(turn, self.bikes)),
                (format!("bikes/{}/numbers", name(bike)), numbers[bike].clone()),
            ];
            let who = PEOPLE[turn % PEOPLE.len()];
            commit(&mut to, (&why, (who, time), from), &files);
            if turn % 2 == 0 {
                let run = format!(
                    "Outing of {} at {}\n\nBike: {}\nOuting-Id: {id}\n",
                    name(bike),
                    place(turn),
                    name(bike)
                );
                let file = format!("bikes/{}/outings/{}", name(bike), outing_file(turn));
                commit(&mut to, (&run, (who, time + 600), ""), &[(file, outing(turn))]);
            }
        }
        to.flush().unwrap();
        drop(to);
        assert!(git.wait().unwrap().success(), "git did not take the history");
    }
}

fn commit(
    to: &mut impl std::io::Write,
    (why, (who, time), from): (&str, (&str, u64), &str),
    files: &[(String, String)],
) {
    writeln!(to, "commit refs/heads/main\nauthor {who} <{who}@shop.example> {time} +0000").unwrap();
    writeln!(to, "committer {who} <{who}@shop.example> {time} +0000\ndata {}\n{why}", why.len()).unwrap();
    write!(to, "{from}").unwrap();
    for (path, text) in files {
        writeln!(to, "M 100644 inline {path}\ndata {}\n{text}", text.len()).unwrap();
    }
}

pub(crate) fn name(bike: usize) -> String {
    format!("b{bike:02}")
}

fn identity(turn: usize) -> String {
    format!("{:012x}", (turn as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 16)
}

fn place(turn: usize) -> &'static str {
    ["Quernby field", "Hollinmoss", "Fennmoor", "Teal Pass", "Ebbrack"][turn % 5]
}

/// A number between 0 and 1 that hangs on the turn alone.
fn share(turn: usize, of: u64) -> f64 {
    fastrand::Rng::with_seed(turn as u64 * 8 + of).f64()
}

/// Main jet of a turn.
fn main_jet(turn: usize) -> f64 {
    165.0 + 2.5 * (share(turn, 1) * 8.0).floor()
}

fn setup(turn: usize, bikes: usize) -> String {
    let (rear, base) = (36 + turn / bikes % 5, 14 + turn / 40 % 3);
    format!(
        "[ignition]\nbase = \"{base} deg\"\nmap_kind = \"absolute\"\nassumed_base = \"15 deg\"\nrpm = [3000, 6000, 9000, 12000]\nadvance = [20, 24, 19, 14]\n\n[jetting]\nmain = {}\nmain_numbered_by = \"bore\"\npilot = 50\npilot_numbered_by = \"bore\"\nneedle = \"n2\"\nclip = {}\nair_screw = \"1 1/2 turns\"\n\n[pipe]\nname = \"long\"\nstinger_diameter = \"21.5 mm\"\n\n[fuel]\nname = \"pump 98\"\noil_ratio = 30\n\n[gearing]\nfront = 15\nrear = {rear}\n",
        main_jet(turn),
        2 + turn / 60 % 3,
    )
}

fn outing_file(turn: usize) -> String {
    let when = day(turn);
    format!("{}-{}.toml", when.replace(['-', ':'], "").replace('T', "-").get(..13).unwrap(), identity(turn))
}

fn day(turn: usize) -> String {
    let minutes = turn as u64 * STEP / 60;
    let days = minutes / 1_440;
    let (year, left) = (2011 + days / 336, days % 336);
    format!("{year}-{:02}-{:02}T{:02}:{:02}", left / 28 + 1, left % 28 + 1, minutes / 60 % 24, minutes % 60)
}

fn outing(turn: usize) -> String {
    let (temp, baro) = (4.0 + 26.0 * share(turn, 2), 960.0 + 65.0 * share(turn, 3));
    // Dry air of the standard atmosphere wants 172.
    let wants = 172.0 * (baro / 1_013.25 * 288.15 / (273.15 + temp)).powf(0.6);
    let off = main_jet(turn) / wants - 1.0 + 0.01 * (share(turn, 4) - 0.5);
    let verdict = match off {
        off if off < -0.03 => "lean",
        off if off < -0.012 => "slightly-lean",
        off if off < 0.02 => "right",
        off if off < 0.05 => "slightly-rich",
        _ => "rich",
    };
    format!(
        "date = \"{}+00:00\"\nplace = \"{}\"\nsetup = \"{}\"\nhours = \"0.3 h\"\nnotes = \"run {turn}\"\n\n[air]\ntemp = \"{temp:.1} C\"\nbaro = \"{baro:.1} hPa\"\nhumidity = \"60 %\"\n\n[verdict]\nfull = \"{verdict}\"\n",
        day(turn),
        place(turn),
        identity(turn),
    )
}
