//! A mechanic with a garage of his own, who types each day into the program what he read and heard, and fits what it says.
//!
//! Where the program asks back he says it again (`--sure`), where it refuses he leaves the jet that is fitted, and what it said
//! is counted. An option that this program does not have yet is such a refusal too.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;
use std::process::Command;
use std::sync::Mutex;

use jiff::ToSpan;
use jiff::civil::date;
use reedbook::advice::learning::verdicts::Judged;
use reedbook::air::Air;
use serde_json::Value;
use tempfile::TempDir;

use super::families::advisers::{Advice, Adviser};
use super::families::metal::{KNOWN_FLOW_JET, Numbering};
use super::families::season::{Day, Known, Outing, Size};

/// The engines by the name of their file: the bike's own, and the spare.
const ENGINES: [&str; 2] = ["own", "spare"];

/// Days from one race day to the next.
const DAYS_BETWEEN: i64 = 10;

/// What the program would not do, with how often.
static TROUBLES: Mutex<BTreeMap<String, usize>> = Mutex::new(BTreeMap::new());

/// What the program would not do since this was last asked.
pub(crate) fn take_troubles() -> BTreeMap<String, usize> {
    std::mem::take(&mut TROUBLES.lock().expect("nobody died with it"))
}

/// The mechanic of one bike.
pub(crate) struct Mechanic {
    known: Known,
    folder: TempDir,
    /// Ids of the outings written down so far, in the order of the history.
    written: Vec<String>,
    /// Which of them have their cause written down.
    closed: Vec<bool>,
    engine: usize,
}

impl Mechanic {
    /// One with an empty folder; the garage is made when the first day comes.
    pub(crate) fn new(known: &Known) -> Self {
        let folder = tempfile::tempdir_in("/dev/shm").or_else(|_| tempfile::tempdir()).expect("a folder");
        let home = folder.path().join("home");
        fs::create_dir(&home).expect("a home");
        let name = "[user]\n\tname = Saara Ventell\n\temail = saara@fenside.example\n";
        fs::write(home.join(".gitconfig"), name).expect("a name");
        Self { known: known.clone(), folder, written: Vec::new(), closed: Vec::new(), engine: 0 }
    }

    fn garage(&self) -> PathBuf {
        self.folder.path().join("garage")
    }

    /// Runs the program at an hour of a day of the season; nought is the day of the baseline.
    fn run(&self, (day, hour): (i64, i8), words: &[String]) -> Result<String, String> {
        let folder = if self.garage().exists() { self.garage() } else { self.folder.path().to_owned() };
        let now = date(2026, 3, 20).saturating_add((DAYS_BETWEEN * day).days()).at(hour, 0, 0, 0);
        let output = Command::new(env!("CARGO_BIN_EXE_reedbook"))
            .args(words)
            .current_dir(folder)
            .env_clear()
            .env("PATH", std::env::var_os("PATH").unwrap_or_default())
            .env("HOME", self.folder.path().join("home"))
            .env("TZ", "UTC")
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("REEDBOOK_NOW", format!("{now}+00:00"))
            .env("REEDBOOK_IDS", format!("season-{}", self.known.seed))
            .output()
            .expect("the program starts");
        if output.status.success() {
            return Ok(String::from_utf8_lossy(&output.stdout).into_owned());
        }
        Err(String::from_utf8_lossy(&output.stderr).lines().next().unwrap_or_default().to_owned())
    }

    /// Runs it, and where it will not, once more with `insistence`; what it said is counted.
    fn insist(&self, when: (i64, i8), words: &[String], insistence: &[&str]) -> Option<String> {
        let refused = match self.run(when, words) {
            Ok(said) => return Some(said),
            Err(refused) => refused,
        };
        count(words, &refused);
        let again: Vec<String> =
            words.iter().cloned().chain(insistence.iter().map(|word| (*word).to_owned())).collect();
        if insistence.is_empty() { None } else { self.run(when, &again).ok() }
    }

    /// Runs what no program may refuse.
    fn must(&self, when: (i64, i8), words: &[&str]) -> String {
        let words = owned(words);
        self.run(when, &words).unwrap_or_else(|refused| panic!("{words:?}: {refused}"))
    }

    /// Makes the garage with the bike as it is known, and proves its baseline.
    fn begin(&mut self, history: &[Outing]) {
        let when = (0, 8);
        self.must(when, &["garage", "new", "garage"]);
        self.must(when, &["bike", "new", "bike", "--engine", ENGINES[0]]);
        self.must(when, &["engine", "new", ENGINES[1]]);
        for (file, text) in [
            ("configs/needles.toml", self.needles()),
            ("configs/jets.toml", self.jets()),
            ("bikes/bike/setup.toml", self.setup()),
        ] {
            fs::write(self.garage().join(file), text).expect("a file of the garage");
        }
        self.must(when, &["change", "bike", "--why", "as it stands"]);
        self.write_down(history);
        let mut words = owned(&["proven", "bike", "--why", "right twice"]);
        words.extend(air(&history[0].read));
        self.insist((0, 18), &words, &["--sure"]).expect("the baseline is proven");
    }

    fn numbered_by(&self) -> &'static str {
        match self.known.carburetor.numbering {
            Numbering::Bore => "bore",
            Numbering::Flow => "flow",
        }
    }

    fn setup(&self) -> String {
        let (numbered_by, needle_jet) = (self.numbered_by(), self.known.carburetor.needle_jet_mm);
        let main = self.known.jets[self.known.proven].number;
        let engine = ENGINES[0];
        format!(
            r#"engine = "{engine}"

[jetting]
carburetor_bore = "38 mm"
main = {main}
main_numbered_by = "{numbered_by}"
main_series = "box"
pilot = 50
pilot_numbered_by = "bore"
pilot_series = "pilot-bore"
air_screw = "1 1/2 turns"
needle = "measured"
clip = 3
shim = "0 mm"
needle_jet = "{needle_jet} mm"
seat_to_needle_jet = "26 mm"

[fuel]
density = 745
stoichiometric_ratio = 14.7
"#
        )
    }

    /// One needle, straight again where it stands in its jet at full lift, so that full throttle hangs on the main jet alone.
    fn needles(&self) -> String {
        let tip = self.known.carburetor.needle_mm;
        format!(
            r#"[needles.measured]
grooves = 5
groove_spacing = "0.95 mm"
points = [[0.0, 2.5], [36.5, 2.5], [58.0, {tip}], [72.0, {tip}]]
source = "measured"
"#
        )
    }

    fn jets(&self) -> String {
        let numbered_by = self.numbered_by();
        let (number, bore) = KNOWN_FLOW_JET;
        let measured = match self.known.carburetor.numbering {
            Numbering::Bore => String::new(),
            Numbering::Flow => format!("known_number = {number}\nknown_bore = \"{bore} mm\"\n"),
        };
        let sizes: Vec<String> = self.known.jets.iter().map(|size| size.number.to_string()).collect();
        let sizes = sizes.join(", ");
        format!(
            r#"[series.box]
numbered_by = "{numbered_by}"
circuit = "main"
{measured}source = "measured"
sizes = [{sizes}]

[series.pilot-bore]
numbered_by = "bore"
circuit = "pilot"
source = "as bought"
sizes = [47.5, 50, 52.5]
"#
        )
    }

    /// Writes down the outings that are not written down yet, and the causes that have become known.
    fn write_down(&mut self, history: &[Outing]) {
        for (at, outing) in history.iter().enumerate() {
            if at >= self.written.len() {
                let id = self.write_outing(outing, at);
                self.written.push(id);
                self.closed.push(false);
            }
            if outing.closed && !self.closed[at] {
                self.closed[at] = true;
                let mut words = owned(&["outing", "edit", "bike", &self.written[at]]);
                words.extend(owned(&["--cause", "crank seal leaked", "--mended", "new seal"]));
                self.insist((day_of(history.last()), 20), &words, &[]);
            }
        }
    }

    fn write_outing(&self, outing: &Outing, at: usize) -> String {
        let hour = outing.day.map_or(if at == 0 { 10 } else { 14 }, |_| 12);
        let mut words = owned(&["outing", "add", "bike", "--json", "--hours", "0.3"]);
        words.push(format!("full={}", verdict(outing.judged)));
        words.extend(air(&outing.read));
        if outing.seized {
            words.extend(owned(&["--note", "seized on the straight"]));
        }
        let said = self.insist((day_of(Some(outing)), hour), &words, &["--sure"]);
        let said = said.unwrap_or_else(|| panic!("an outing must be written down: {words:?}"));
        let answer: Value = serde_json::from_str(&said).expect("a JSON answer");
        let id = answer["id"].as_str().or_else(|| answer["outing"]["id"].as_str());
        id.unwrap_or_else(|| panic!("an outing has an id: {answer}")).to_owned()
    }

    fn swap_engines(&mut self, engine: usize, day: i64) {
        if self.engine == engine {
            return;
        }
        self.engine = engine;
        let word = format!("engine={}", ENGINES[engine]);
        let words = owned(&["change", "bike", &word, "--why", "the other engine"]);
        let despite = ["--despite", "it is the engine there is"];
        self.insist((day, 8), &words, &despite).expect("an engine can be swapped");
    }
}

impl Adviser for Mechanic {
    fn advise(&mut self, today: &Day, history: &[Outing], jets: &[Size], on_bike: usize) -> Advice {
        if self.written.is_empty() {
            self.begin(&history[..2]);
        }
        self.write_down(history);
        let day = i64::try_from(today.index).expect("a season is short") + 1;
        self.swap_engines(today.engine, day);
        let mut words = owned(&["rejet", "bike", "--json"]);
        words.extend(air(&today.read));
        let Some(said) = self.insist((day, 9), &words, &["--sure"]) else {
            return on_bike.into();
        };
        let answer: Value = serde_json::from_str(&said).expect("a JSON answer");
        let number = main_jet(&answer).unwrap_or(jets[on_bike].number);
        let place = |number: f64| jets.iter().position(|size| (size.number - number).abs() < 1e-6);
        let size = place(number).unwrap_or_else(|| panic!("{number} is not in the box"));
        if size != on_bike {
            let field = format!("jetting.main={number}");
            // With the air that it was asked for: what is refused in any other may be right in this one.
            let mut change = owned(&["change", "bike", &field, "--why", "as advised"]);
            change.extend(air(&today.read));
            if self.insist((day, 10), &change, &["--sure"]).is_none() {
                return on_bike.into();
            }
            // He says that it is fitted: a lean run counts on the richer jet else.
            self.insist((day, 10), &owned(&["job", "done", "all", "bike"]), &[]);
        }
        Advice { size, foretold_lean: answer["lean_risk"].as_f64() }
    }
}

/// The main jet that an answer fits; none where it names none.
fn main_jet(answer: &Value) -> Option<f64> {
    let entries = |list: &str| answer[list].as_array().cloned().unwrap_or_default();
    let of_main = |entry: &Value| entry["field"] == "jetting.main";
    let number = |value: &Value| value.as_f64().or_else(|| value.as_str()?.parse().ok());
    let fitted = entries("fit").into_iter().find(of_main);
    let fitted = fitted.and_then(|entry| number(&entry["fit"]));
    let advised = || entries("jets").into_iter().find(of_main).and_then(|jet| number(&jet["advised"]));
    // Where no jet is rich enough, none is advised: the largest that it looked at comes nearest.
    let largest = || entries("sizes").last().and_then(|size| number(&size["size"]));
    fitted.or_else(advised).or_else(largest)
}

/// An air as its options, in the digits that instruments show.
fn air(read: &Air) -> Vec<String> {
    owned(&[
        "--temp",
        &format!("{:.1} C", read.temperature_c()),
        "--baro",
        &format!("{:.1} hPa", read.pressure_pa() / 100.0),
        "--humidity",
        &format!("{:.1}", (100.0 * read.relative_humidity()).min(100.0)),
    ])
}

fn verdict(judged: Judged) -> &'static str {
    match judged {
        Judged::Lean => "lean",
        Judged::SlightlyLean => "slightly-lean",
        Judged::Right => "right",
        Judged::SlightlyRich => "slightly-rich",
        Judged::Rich => "rich",
    }
}

/// The season's day of an outing, 0 for those of the baseline.
fn day_of(outing: Option<&Outing>) -> i64 {
    let day = outing.and_then(|outing| outing.day);
    day.map_or(0, |day| i64::try_from(day).expect("a season is short") + 1)
}

fn owned(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

/// Counts what was refused, figures taken out, so that like goes with like.
fn count(words: &[String], refused: &str) {
    let command = words.iter().take(2).cloned().collect::<Vec<_>>().join(" ");
    let alike: String = refused.chars().map(|c| if c.is_ascii_digit() { '#' } else { c }).collect();
    *TROUBLES.lock().expect("nobody died with it").entry(format!("{command}: {alike}")).or_default() += 1;
}
