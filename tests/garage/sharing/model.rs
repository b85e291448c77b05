//! Several clones that change at random, with shares in between: whatever the order, they come to the same bytes, and everything that was
//! recorded is there. A plain list of what was recorded is the reference.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::Duration;

use reedbook::machine::Moment;
use reedbook::notebook::{Assignment, Outing, When};
use reedbook::store::{Book, ChangeRequest, Garage, Keep, NewOuting, ShareRequest, change, log, share};

use super::Yard;

/// Where a side stands: its newest commit and its files.
type Stand = (Option<git2::Oid>, BTreeMap<PathBuf, Vec<u8>>);

/// What was recorded, by whom is of no matter.
#[derive(Default)]
struct Reference {
    /// Reasons of setups, by bike.
    setups: BTreeSet<(String, String)>,
    /// Notes of outings, by bike.
    outings: BTreeSet<(String, String)>,
    /// Notes of outings whose recording was killed: each is there whole, or not at all.
    maybe: BTreeSet<(String, String)>,
    /// Reasons of setups whose recording was killed, likewise.
    maybe_setups: BTreeSet<(String, String)>,
    /// Parts, by name.
    parts: BTreeSet<String>,
    /// The number of each setup once it was shared.
    numbers: BTreeMap<(String, String), u32>,
}

struct Clones<'y> {
    yard: &'y Yard,
    kills: usize,
    folders: Vec<PathBuf>,
    random: fastrand::Rng,
    minute: i64,
    reference: Reference,
}

impl Clones<'_> {
    fn moment(&mut self) -> Moment {
        self.minute += 1;
        let begin = When::parse("2026-05-17T08:00+02:00", jiff_offset()).unwrap();
        let now = When::from_unix(begin.unix() + self.minute * 60, 120).unwrap();
        Moment { now, seed: Some(format!("model {}", self.minute)) }
    }

    fn bike(&mut self) -> String {
        (*self.random.choice(["moth", "wasp"].iter()).unwrap()).to_owned()
    }

    fn change(&mut self, folder: &Path) {
        let garage = Garage::open(folder).unwrap();
        let (bike, moment) = (self.bike(), self.moment());
        let field = *self
            .random
            .choice(["jetting.main", "ignition.base", "gearing.rear", "jetting.pilot"].iter())
            .unwrap();
        let value = match field {
            "jetting.main" => self.random.u32(160..180),
            "ignition.base" => self.random.u32(12..18),
            "gearing.rear" => self.random.u32(38..46),
            _ => self.random.u32(45..55),
        };
        let why = format!("step {}", self.minute);
        let request = ChangeRequest {
            bike: bike.clone(),
            assignments: vec![Assignment::parse(&format!("{field}={value}")).unwrap()],
            why: why.clone(),
            ..ChangeRequest::default()
        };
        // The same value as before is no change.
        if change(&garage, &request, &moment).is_ok() {
            self.reference.setups.insert((bike, why));
        }
    }

    fn outing(&mut self, folder: &Path) {
        let garage = Garage::open(folder).unwrap();
        let (bike, moment) = (self.bike(), self.moment());
        let note = format!("outing {}", self.minute);
        let place = ["Teal Pass", "Tarn Hollow"][self.random.usize(0..2)];
        let outing = Outing {
            date: moment.now,
            notes: Some(note.clone()),
            place: Some(place.into()),
            ..Outing::default()
        };
        log(&garage, &NewOuting { bike: bike.clone(), outing, setup: None, dyno: None }, &moment).unwrap();
        self.reference.outings.insert((bike, note));
    }

    fn share(&mut self, folder: &Path) {
        let garage = Garage::open(folder).unwrap();
        let moment = self.moment();
        let mut done = share(&garage, &ShareRequest::default(), &moment).unwrap();
        for _ in 0..4 {
            let Some(question) = done.questions.first() else { break };
            let sides = if question.apart.is_some() { 2 } else { 3 };
            let keep = [Keep::Theirs, Keep::Ours, Keep::Both][self.random.usize(0..sides)];
            let request =
                ShareRequest { keep: vec![(question.subject.clone(), keep)], ..ShareRequest::default() };
            let moment = self.moment();
            done = share(&garage, &request, &moment).unwrap();
            for settled in &done.settled {
                self.reference.setups.insert((settled.bike.clone(), settled.setup.why.clone()));
            }
        }
        assert!(done.questions.is_empty(), "a question stays open: {:?}", done.questions);
        let book = Book::open(&garage).unwrap();
        assert!(book.index_agrees().unwrap(), "what the index read of a share is not what a fresh one reads");
        for bike in garage.bikes() {
            for setup in book.setups(&bike).unwrap() {
                let known =
                    self.reference.numbers.entry((bike.clone(), setup.id.clone())).or_insert(setup.number);
                assert_eq!(*known, setup.number, "the shared number of {} of {bike} moved", setup.why);
            }
        }
    }

    /// Starts the program on a side and kills it at some moment, if it has not done by then.
    fn killed(&mut self, folder: &Path, words: &[&str]) {
        let moment = self.moment();
        let mut command = self.yard.shed.program(folder, words);
        command.env("REEDBOOK_NOW", moment.now.to_string()).env("REEDBOOK_IDS", moment.seed.unwrap());
        let mut child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(Duration::from_micros(self.random.u64(1_000..60_000)));
        if child.try_wait().unwrap().is_none() {
            child.kill().unwrap();
            self.kills += 1;
        }
        child.wait().unwrap();
    }

    fn killed_outing(&mut self, folder: &Path) {
        let bike = self.bike();
        let note = format!("killed outing {}", self.minute);
        self.reference.maybe.insert((bike.clone(), note.clone()));
        self.killed(folder, &["outing", "add", &bike, "--note", &note, "--sure"]);
    }

    fn killed_change(&mut self, folder: &Path) {
        let bike = self.bike();
        let why = format!("killed step {}", self.minute);
        self.reference.maybe_setups.insert((bike.clone(), why.clone()));
        let rear = format!("gearing.rear={}", self.random.u32(38..46));
        self.killed(folder, &["change", &bike, &rear, "--why", &why, "--sure"]);
    }

    /// What is recorded beside setups and runs: a part, the air of a place, jobs that were done.
    fn beside(&mut self, folder: &Path) {
        let (bike, what) = (self.bike(), self.random.u8(0..3));
        let name = format!("ring-{}", self.minute);
        let moment = self.moment();
        let run = |words: &[&str]| {
            let mut command = self.yard.shed.program(folder, words);
            command
                .env("REEDBOOK_NOW", moment.now.to_string())
                .env("REEDBOOK_IDS", moment.seed.as_ref().unwrap());
            command.output().unwrap()
        };
        match what {
            0 => {
                let done = run(&["part", "add", &name, "--kind", "ring"]);
                assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
                self.reference.parts.insert(name);
            }
            1 => {
                let done = run(&["air", "18", "1002", "55", "--keep", "--place", "Teal Pass", "--sure"]);
                assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
            }
            // Where nothing is open it says so.
            _ => drop(run(&["job", "done", "all", &bike])),
        }
    }

    /// Every clone has the same files, and all of what was recorded.
    fn check(&mut self) {
        for _ in 0..2 {
            for folder in self.folders.clone() {
                self.share(&folder);
            }
        }
        let mut first: Option<Stand> = None;
        for folder in &self.folders {
            let garage = Garage::open(folder).unwrap();
            let book = Book::fresh(&garage).unwrap();
            let mut outings = BTreeSet::new();
            let mut setups = BTreeSet::new();
            for bike in garage.bikes() {
                let all = book.setups(&bike).unwrap();
                let numbers: BTreeSet<u32> = all.iter().map(|setup| setup.number).collect();
                assert_eq!(numbers.len(), all.len(), "a number of {bike} was taken twice");
                assert_eq!(book.numbers(&bike).unwrap().doubled().count(), 0);
                setups.extend(all.iter().map(|setup| (bike.clone(), setup.why.clone())));
                let newest = book.combination(&bike, all.last()).unwrap();
                let now = book.combination(&bike, None).unwrap();
                assert!(
                    newest.fields.same_as(&now.fields),
                    "the newest setup of {bike} is not what is on disk"
                );
                outings.extend(
                    book.outings(&bike)
                        .unwrap()
                        .into_iter()
                        .filter_map(|record| Some((bike.clone(), record.outing.notes?))),
                );
            }
            let lost: Vec<_> = self.reference.outings.difference(&outings).collect();
            assert!(lost.is_empty(), "lost: {lost:?}");
            let made_up: Vec<_> = outings
                .difference(&self.reference.outings)
                .filter(|outing| !self.reference.maybe.contains(outing))
                .collect();
            assert!(made_up.is_empty(), "outings that nobody recorded: {made_up:?}");
            let parts: BTreeSet<String> = book.parts().unwrap().into_iter().map(|part| part.name).collect();
            assert_eq!(parts, self.reference.parts, "parts");
            let lost: Vec<_> = self.reference.setups.difference(&setups).collect();
            assert!(lost.is_empty(), "lost: {lost:?}");
            let made_up: Vec<_> = setups
                .difference(&self.reference.setups)
                .filter(|setup| !self.reference.maybe_setups.contains(setup))
                .collect();
            // The two with which the garage was made.
            assert!(made_up.len() <= 2, "setups that nobody recorded: {made_up:?}");
            let mut files = BTreeMap::new();
            collect(folder, folder, &mut files);
            let this = (garage.repository().head().unwrap(), files);
            match &first {
                None => first = Some(this),
                Some(first) => assert!(*first == this, "two clones differ"),
            }
        }
    }
}

fn jiff_offset() -> jiff::tz::Offset {
    jiff::tz::Offset::UTC
}

fn collect(top: &Path, folder: &Path, found: &mut BTreeMap<PathBuf, Vec<u8>>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.ends_with(".git") {
            continue;
        }
        if path.is_dir() {
            collect(top, &path, found);
        } else {
            found.insert(path.strip_prefix(top).unwrap().to_owned(), std::fs::read(&path).unwrap());
        }
    }
}

fn clones_at_random(seed: u64, clones: usize, rounds: usize) -> usize {
    let yard = Yard::new();
    let mut folders = vec![yard.at("shop"), yard.at("track")];
    for number in 2..clones {
        yard.clone(&format!("clone-{number}"), "Cleo");
        folders.push(yard.at(&format!("clone-{number}")));
    }
    let mut all = Clones {
        yard: &yard,
        kills: 0,
        folders,
        random: fastrand::Rng::with_seed(seed),
        minute: 0,
        reference: Reference::default(),
    };
    for round in 0..rounds {
        let folder = all.folders[all.random.usize(0..clones)].clone();
        match all.random.u8(0..24) {
            0..7 => all.change(&folder),
            7..12 => all.outing(&folder),
            12..14 => all.killed_outing(&folder),
            14..16 => all.killed_change(&folder),
            16..18 => all.beside(&folder),
            18..21 => all.killed(&folder, &["share"]),
            _ => all.share(&folder),
        }
        if round % 100 == 99 {
            all.check();
        }
    }
    all.check();
    all.kills
}

#[test]
fn clones_that_change_at_random_come_to_the_same_bytes() {
    let kills: usize = [1, 2].into_iter().map(|seed| clones_at_random(seed, 3, 30)).sum();
    assert!(kills > 0, "nothing was killed");
}

/// `cargo test --test garage sharing::model -- --ignored --nocapture`: ten clones, a thousand rounds, some minutes; `ROUNDS` and
/// `SEED` say others.
#[test]
#[ignore = "takes minutes"]
#[allow(clippy::print_stdout)] // who runs it by hand wants the figure
fn ten_clones_of_a_thousand_rounds_come_to_the_same_bytes() {
    let asked = |name: &str, otherwise: u64| -> u64 {
        std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise)
    };
    let (seed, rounds) = (asked("SEED", 17), asked("ROUNDS", 1000));
    let kills = clones_at_random(seed, 10, usize::try_from(rounds).unwrap());
    println!("10 clones, {rounds} rounds, {kills} kills, seed {seed}: one and the same, nothing lost");
}
