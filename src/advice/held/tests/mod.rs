//! Which runs hold, which let go, and the least fuel they allow.

#![allow(clippy::unwrap_used, clippy::panic, clippy::expect_used, reason = "a test fails by panicking")]

mod judged;
mod meant;
mod really;

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::rc::Rc;

use super::holds::holding;
use super::{Hold, Holds, Reference, Tables};
use crate::air::Air;
use crate::notebook::{Combination, JetBox, NeedleBox, Outing, OwnBox, Setup, SetupFiles, Shares};
use crate::store::OutingRecord;

const SMALL: &str =
    "[jetting]\nmain = MAIN\nmain_numbered_by = \"bore\"\nclip = CLIP\n[fuel]\nname = \"race can\"\n";

/// A setup without a fuel map.
fn alone(setup: &Setup) -> Reference<'_> {
    Reference { setup, map: None }
}

/// A garage of setups that all have this text but for main jet and clip, and what ran.
struct Season {
    text: String,
    jets: JetBox,
    needles: NeedleBox,
    shares: Shares,
    own_box: Option<OwnBox>,
    setups: BTreeMap<u32, Rc<Combination>>,
    runs: Vec<OutingRecord>,
}

impl Season {
    fn new() -> Self {
        Self::with(SMALL)
    }

    fn with(text: &str) -> Self {
        Self {
            text: text.to_owned(),
            jets: toml::from_str(include_str!("../../../../configs/jets.toml")).unwrap(),
            needles: toml::from_str(include_str!("../../../../configs/needles.toml")).unwrap(),
            shares: toml::from_str(include_str!("../../../../configs/shares.toml")).unwrap(),
            own_box: None,
            setups: BTreeMap::new(),
            runs: Vec::new(),
        }
    }

    fn tables(&self) -> Tables<'_> {
        Tables {
            jets: &self.jets,
            needles: &self.needles,
            shares: &self.shares,
            own_box: self.own_box.as_ref(),
        }
    }

    fn whole(&self, main: &str, clip: u32) -> Combination {
        read(&self.text.replace("MAIN", main).replace("CLIP", &clip.to_string()))
    }

    fn setup(&self, main: &str) -> Setup {
        self.whole(main, 3).setup.unwrap()
    }

    /// One more run, a day after the one before it.
    fn run(self, main: &str, outing: &str) -> Self {
        let whole = self.whole(main, 3);
        self.run_with(whole, outing)
    }

    fn run_with(mut self, whole: Combination, outing: &str) -> Self {
        let number = u32::try_from(self.runs.len() + 1).unwrap();
        let date = format!("date = \"2026-05-{number:02}T12:00+02:00\"\n");
        let outing: Outing = toml::from_str(&format!("{date}{outing}")).unwrap();
        self.setups.insert(number, Rc::new(whole));
        let record = OutingRecord {
            bike: "moth".into(),
            id: format!("run{number}"),
            file: PathBuf::new(),
            outing,
            setup: Some(number),
            cylinders: Vec::new(),
        };
        self.runs.push(record);
        self
    }

    fn holds(&self, now: &str) -> Holds {
        self.holds_of(&self.whole(now, 3))
    }

    fn holds_of(&self, now: &Combination) -> Holds {
        let that_ran =
            |run: &OutingRecord| Ok(run.setup.and_then(|number| self.setups.get(&number)).cloned());
        holding(&self.runs, ("moth", &now.fields), (&that_ran, &|run| Ok(self.instead(run))), &self.tables())
            .unwrap()
    }

    /// The setups of the runs before one, where it is doubted which it ran.
    fn instead(&self, run: &OutingRecord) -> Vec<(u32, Rc<Combination>)> {
        let before = self.setups.range(..run.setup.unwrap_or_default()).next_back();
        before.map(|(number, whole)| (*number, Rc::clone(whole))).into_iter().collect()
    }

    /// The least fuel at full throttle in an air, over what a main jet delivers.
    #[track_caller]
    fn least(&self, main: &str, air: Option<&Air>) -> f64 {
        let holds = self.holds(main);
        let setup = self.setup(main);
        holds.least("full", (alone(&setup), &setup), air, &self.tables()).unwrap().1
    }

    /// Whether a main jet may be fitted in place of another in an air.
    #[track_caller]
    fn allows(&self, main: &str, air: Option<&Air>) -> bool {
        self.least(main, air) <= 1.0
    }
}

fn read(text: &str) -> Combination {
    let files =
        SetupFiles { bike: "moth".into(), setup: Some(text.as_bytes().to_vec()), ..SetupFiles::default() };
    Combination::read(&files, false)
}

/// An outing's air and one verdict.
fn ran(verdict: &str, temperature: f64) -> String {
    format!(
        "[air]\ntemp = \"{temperature} C\"\nbaro = \"1000 hPa\"\nhumidity = \"50 %\"\n[verdict]\n{verdict}\n"
    )
}

fn air(temperature: f64) -> Air {
    Air::from_relative_humidity(temperature, 100_000.0, 0.5).unwrap()
}

#[test]
fn one_size_after_lean_and_two_after_a_seizure() {
    for lean in ["full = \"lean\"", "full = \"slightly-lean\""] {
        let season = Season::new().run("178", &ran(lean, 20.0));
        assert!(!season.allows("178", Some(&air(20.0))), "{lean}");
        assert!(season.allows("180", Some(&air(20.0))), "{lean}");
        let holds = season.holds("178");
        assert_eq!(holds.holds[0].least_main(&season.tables()), Some(180.0));
        assert!(!holds.holds[0].seizure);
    }
    let season = Season::new()
        .run("178", &format!("notes = \"seized on the straight\"\n{}", ran("full = \"right\"", 20.0)));
    assert!(!season.allows("180", Some(&air(20.0))));
    assert!(season.allows("182", Some(&air(20.0))));
    let hold = &season.holds("178").holds[0];
    assert_eq!((hold.words.as_str(), hold.seizure, hold.main), ("seized", true, Some(178.0)));
    assert_eq!(hold.least_main(&season.tables()), Some(182.0));
    // Pinging is lean, not a seizure.
    let season =
        Season::new().run("178", &format!("notes = \"pinged twice\"\n{}", ran("half = \"right\"", 20.0)));
    assert!(season.allows("180", None) && !season.allows("178", None));
}

#[test]
fn denser_air_asks_for_more_and_thinner_air_for_less_without_a_jump() {
    let season = Season::new().run("178", &ran("full = \"lean\"", 20.0));
    let same = season.least("178", Some(&air(20.0)));
    assert!(same > 1.0 && season.least("178", Some(&air(5.0))) > same * 1.02);
    // Two airs within two percent are one.
    assert!((season.least("178", Some(&air(22.0))) - same).abs() < 1e-12);
    assert!(season.least("178", Some(&air(45.0))) < same * 0.99);
    let mut before = season.least("178", Some(&air(-5.0)));
    for tenths in -49..450 {
        let now = season.least("178", Some(&air(f64::from(tenths) / 10.0)));
        assert!(now <= before && before - now < 0.001, "{tenths}: {before} {now}");
        before = now;
    }
    // An air that is not known is not thinner.
    assert!((season.least("178", None) - same).abs() < 1e-12);
}

#[test]
fn a_run_without_air_or_with_a_doubted_one_holds_in_any_air() {
    let doubted = format!("doubted = [\"air\"]\n{}", ran("full = \"lean\"", 45.0));
    for outing in ["[verdict]\nfull = \"lean\"\n", &doubted] {
        let season = Season::new().run("178", outing);
        for temperature in [-5.0, 20.0, 45.0] {
            assert!(!season.allows("178", Some(&air(temperature))), "{outing}");
            assert!(season.allows("180", Some(&air(temperature))), "{outing}");
        }
        assert!(season.holds("178").holds[0].air().is_none());
    }
}

#[test]
fn a_later_run_lets_go_when_it_had_enough_for_its_air() {
    let lean = Season::new().run("178", &ran("full = \"lean\"", 20.0));
    let after = |main: &str, outing: &str| {
        let mut season = Season::new().run("178", &ran("full = \"lean\"", 20.0));
        season = season.run(main, outing);
        season.holds("178").holds.is_empty()
    };
    assert!(!lean.holds("178").is_empty());
    for verdict in ["right", "slightly-rich", "rich"] {
        assert!(after("180", &ran(&format!("full = \"{verdict}\""), 20.0)), "{verdict}");
    }
    // The same jet was right in much thinner air: that says nothing of this one. What was right in denser air is enough here.
    assert!(!after("178", &ran("full = \"right\"", 45.0)));
    assert!(!after("178", &ran("full = \"right\"", 20.0)));
    assert!(after("180", &ran("full = \"right\"", 0.0)));
    // Another throttle, no verdict, no air, an air that is doubted, or a word in the notes: nothing is shown.
    for outing in [
        ran("half = \"right\"", 20.0),
        "[verdict]\nfull = \"right\"\n".to_owned(),
        format!("doubted = [\"air\"]\n{}", ran("full = \"right\"", 20.0)),
        format!("notes = \"pinged\"\n{}", ran("full = \"rich\"", 20.0)),
    ] {
        assert!(!after("200", &outing), "{outing}");
    }
    // Before it is not after it.
    let season =
        Season::new().run("180", &ran("full = \"right\"", 20.0)).run("178", &ran("full = \"lean\"", 20.0));
    assert_eq!(season.holds("178").holds.len(), 1);
}

#[test]
fn the_one_that_demands_most_counts_and_none_takes_another_back() {
    let seized = |temperature| format!("notes = \"seized\"\n{}", ran("full = \"lean\"", temperature));
    let one = Season::new().run("178", &seized(20.0));
    let two = Season::new().run("178", &seized(20.0)).run("174", &seized(20.0));
    assert!((one.least("178", None) - two.least("178", None)).abs() < 1e-12);
    let more = Season::new().run("178", &seized(20.0)).run("182", &seized(20.0));
    assert!(more.least("178", None) > one.least("178", None) * 1.02);
    assert!(more.allows("186", None) && !more.allows("184", None));
    // Lean again on the same jets: it wants a size more than after the first time, and no more than two.
    let again = Season::new().run("178", &seized(20.0)).run("178", &seized(20.0));
    assert!((again.least("178", None) / one.least("178", None) - 1.02).abs() < 1e-9);
    let often = (0..5).fold(Season::new(), |season, _| season.run("178", &seized(20.0)));
    assert!((often.least("178", None) / one.least("178", None) - 1.02_f64.powi(2)).abs() < 1e-9);
    // Lean on everything in the box: more is asked for than it has, and that is finite.
    let mut all = Season::new();
    for main in ["220", "222.5", "225", "227.5", "230"] {
        all = all.run(main, &seized(20.0));
    }
    let least = all.least("230", Some(&air(0.0)));
    assert!(least.is_finite() && least > 1.04, "{least}");
    assert_eq!(all.holds("230").holds.len(), 5);
    assert_eq!(all.holds("230").of_last_run.len(), 1);
    assert_eq!(all.holds("230").holds[0].least_main(&all.tables()), None);
}

#[test]
fn a_closed_cause_lets_go_and_half_a_word_does_not() {
    let with = |words: &str| {
        let season = Season::new().run("178", &format!("{words}{}", ran("full = \"lean\"", 20.0)));
        season.holds("178").holds.len()
    };
    assert_eq!(with("cause = \"crank seal leaked\"\nmended = \"new seal\"\n"), 0);
    assert_eq!(with("cause = \"crank seal leaked\"\n"), 1);
    assert_eq!(with("mended = \"new seal\"\n"), 1);
    assert_eq!(with("cause = \" \"\nmended = \"new seal\"\n"), 1);
    let closed = format!("cause = \"seal\"\nmended = \"seal\"\n{}", ran("full = \"lean\"", 20.0));
    let season = Season::new().run("178", &closed).run("178", &closed);
    assert!(season.holds("178").is_empty());
    // Lean again in the next run: what was mended was not it, and the runs before it count again.
    let season = season.run("170", &ran("full = \"lean\"", 20.0));
    assert_eq!(season.holds("178").holds.len(), 3);
    assert!(!season.allows("172", None) && !season.allows("178", None));
    let said = season.holds("178").remarks;
    assert!(said.iter().any(|said| said.starts_with("Lean again: what was fixed")), "{said:?}");
    // Right since the mend: it stays closed.
    let cured = Season::new().run("178", &closed).run("178", &ran("full = \"right\"", 20.0));
    assert!(cured.run("170", &ran("full = \"lean\"", 20.0)).holds("178").holds.len() == 1);
}

#[test]
fn a_lean_run_holds_across_pipe_and_fuel_until_this_one_was_right_and_an_engine_starts_rich() {
    let lean = ran("full = \"lean\"", 20.0);
    let season = Season::new().run("178", &lean);
    let other_engine = read("engine = \"b\"\n[jetting]\nmain = 160\nmain_numbered_by = \"bore\"\n");
    // The run's setup names no engine: it may be this one.
    assert_eq!(season.holds_of(&other_engine).holds.len(), 1);
    let named = Season::with(&format!("engine = \"a\"\n{SMALL}")).run("178", &lean);
    let holds = named.holds_of(&other_engine);
    assert!(
        holds.is_empty() && holds.remarks[0].contains("Lean at full throttle on engine a"),
        "{:?}",
        holds.remarks
    );
    let pump = read(&SMALL.replace("MAIN", "160").replace("CLIP", "3").replace("race can", "pump"));
    let holds = season.holds_of(&pump);
    assert_eq!(holds.holds[0].elsewhere, ["fuel"]);
    assert!(holds.remarks[0].contains("Lean at full throttle on fuel race can"), "{:?}", holds.remarks);
    let season = season.run_with(pump, &ran("full = \"right\"", 20.0));
    let pump = Rc::clone(season.setups.values().last().unwrap());
    assert!(season.holds_of(&pump).is_empty());
    let carburetor = read("[jetting]\nmain = 160\ncarburetor_bore = \"34 mm\"\n");
    let bored = Season::with("[jetting]\nmain = MAIN\ncarburetor_bore = \"38 mm\"\n").run("178", &lean);
    assert!(bored.holds_of(&carburetor).is_empty());
}

#[test]
fn a_closed_lean_run_that_was_the_last_asks_for_a_rich_start() {
    let closed = format!("cause = \"crank seal\"\nmended = \"new seal\"\n{}", ran("full = \"lean\"", 20.0));
    let season = Season::new().run("178", &closed);
    assert!(season.holds("178").mended.unwrap().contains("start at least a size richer"));
    let season = season.run("180", &ran("full = \"right\"", 20.0));
    assert!(season.holds("178").mended.is_none());
}

/// A map of percent whose cells were leaner at the lean run than now asks for less of the trim, one that was richer for more.
#[test]
fn another_fuel_map_counts_by_its_cells() {
    let text = |cells: &str| {
        format!(
            "[injection]\ntrim = \"0 %\"\nfuel_map_unit = \"percent\"\nrpm = [6000, 9000]\nfuel = [{cells}]\n"
        )
    };
    let season = Season::with(&text("0, 0")).run_with(read(&text("5, 0")), &ran("full = \"lean\"", 20.0));
    let holds = season.holds_of(&read(&text("0, 0"))).holds;
    let over = |whole: &Combination| holds[0].ran_over(Reference::of(whole).unwrap(), &season.tables());
    assert_eq!(over(&read(&text("5, 0"))), Some(1.0));
    assert!((over(&read(&text("0, 0"))).unwrap() - 1.05).abs() < 1e-9);
    assert!((over(&read(&text("10, 5"))).unwrap() - 105.0 / 110.0).abs() < 1e-9);
    assert_eq!(over(&read(&text("5, 0").replace("9000", "9500"))), None);
}

#[test]
fn every_zone_holds_for_itself() {
    let season =
        Season::new().run("178", &ran("full = \"right\"\nhalf = \"slightly-lean\"\nidle = \"lean\"", 20.0));
    let holds = season.holds("178");
    let zones: Vec<_> = holds.holds.iter().map(|hold| (hold.zone, hold.words.as_str())).collect();
    assert_eq!(zones, [("idle", "lean"), ("half", "slightly lean")]);
    let setup = season.setup("178");
    let (_, least) = holds.least("half", (alone(&setup), &setup), None, &season.tables()).unwrap();
    assert!((least - 1.02).abs() < 1e-6, "{least}");
    assert!(holds.least("full", (alone(&setup), &setup), None, &season.tables()).is_none());
}

#[test]
fn the_bikes_own_box_has_the_sizes() {
    let mut season = Season::new().run("178", &ran("full = \"lean\"", 20.0));
    season.own_box = Some(toml::from_str("main = [170, 178, 185]").unwrap());
    assert!(!season.allows("184", None) && season.allows("185", None));
    assert_eq!(season.holds("178").holds[0].least_main(&season.tables()), Some(185.0));
}

#[test]
fn what_cannot_be_reckoned_holds_what_is_on_the_bike() {
    // A setup that cannot be read holds by its main jet's number, where that can be.
    let broken = read("[jetting]\nmain = 178\nmain_numbered_by = \"bore\"\nclip = \"many\"\n");
    assert!(broken.setup.is_none());
    let season = Season::new().run_with(broken, &ran("full = \"lean\"", 20.0));
    assert!(season.allows("180", None) && !season.allows("178", None));
    // With no number either, nothing leaner than what is on the bike.
    let nothing = read("[jetting]\nmain = \"no\"\n");
    let season = Season::new().run_with(nothing, &ran("full = \"lean\"", 20.0));
    let (on, reference) = (season.setup("178"), season.setup("170"));
    let holds = season.holds("178");
    assert!(holds.holds[0].least_over(alone(&reference), None, &season.tables()).is_none());
    let (_, least) = holds.least("full", (alone(&reference), &on), None, &season.tables()).unwrap();
    let delivered = season.tables().delivered(&reference, &on, "full").unwrap();
    assert!((least - delivered).abs() < 1e-12 && least > 1.0);
    // Whatever has run right since is the only measure that is left.
    let season = season.run("174", &ran("full = \"right\"", 20.0));
    assert!(season.holds("178").is_empty());
}

#[test]
fn the_trim_of_an_injected_bike_counts_two_percent_a_size() {
    let text = "[injection]\ntrim = \"MAIN %\"\n[fuel]\nname = \"race can\"\n";
    let seized = format!("notes = \"seized\"\n{}", ran("full = \"lean\"", 20.0));
    let season = Season::with(text).run("-10", &seized);
    let allows = |trim: &str| season.allows(trim, None);
    assert!(allows("-6") && !allows("-6.5"));
    assert_eq!(season.holds("-10").holds[0].main, None);
    let lean = Season::with(text).run("-10", &ran("half = \"lean\"", 20.0));
    let setup = lean.setup("-8");
    let least = lean.holds("-8").least("half", (alone(&setup), &setup), None, &lean.tables()).unwrap().1;
    assert!((least - 1.0).abs() < 1e-6, "{least}");
}

#[test]
fn contradictory_runs_of_one_day_hold() {
    let same_day = "date = \"2026-05-02\"\n";
    let mut season =
        Season::new().run("178", "[verdict]\nfull = \"lean\"\n").run("180", "[verdict]\nfull = \"right\"\n");
    for run in &mut season.runs {
        run.outing.date = toml::from_str::<Outing>(same_day).unwrap().date;
    }
    // Nobody knows which came first.
    assert_eq!(season.holds("178").holds.len(), 1);
}

#[test]
fn a_hold_names_its_run() {
    let season = Season::new().run("178", &ran("full = \"lean\"", 20.0));
    let Hold { zone, outing, .. } = &season.holds("178").holds[0];
    assert_eq!((*zone, outing.id.as_str()), ("full", "run1"));
    assert_eq!(season.holds("178").holds[0].setup(), Some(1));
    assert!(season.holds("178").holds[0].air().is_some());
}

/// The main jet that no needle makes up for: the next above the one that ran lean, or the larger one fitted since; in thinner air less by
/// the sums.
#[test]
fn the_main_jet_never_gets_smaller_after_a_lean_run() {
    let season = Season::new().run("176", &ran("full = \"lean\"\nhalf = \"lean\"", 15.0));
    let holds = season.holds("176").holds;
    let reference = season.setup("176");
    let least = |zone: &str, now: f64, temperature: f64| {
        let hold = holds.iter().find(|hold| hold.zone == zone).unwrap();
        hold.main_never_below(Some(now), (&reference, &air(temperature)), &season.tables())
    };
    let full = |now: f64, temperature: f64| (least("full", now, temperature).unwrap() * 10.0).round() / 10.0;
    assert!((full(176.0, 15.0) - 178.0).abs() < 1e-9);
    assert!((full(182.0, 15.0) - 182.0).abs() < 1e-9, "what was fitted since");
    assert!(full(170.0, 5.0) > 178.0, "denser air asks for more");
    let thin = full(176.0, 45.0);
    assert!((160.0..176.0).contains(&thin), "{thin}");
    assert_eq!(least("half", 176.0, 15.0), Some(176.0), "no main jet makes up for a needle");
    assert_eq!(least("half", 182.0, 15.0), Some(176.0), "full throttle was right on it");
    let shut = Season::new().run("176", &ran("full = \"right\"\nidle = \"lean\"", 15.0));
    for hold in shut.holds("176").holds {
        let least = hold.main_never_below(Some(176.0), (&reference, &air(15.0)), &shut.tables());
        assert_eq!(least, None, "the pilot jet and its screw make up for {}", hold.zone);
    }
    let rich = Season::new().run("176", &ran("full = \"rich\"\nhalf = \"lean\"", 15.0));
    let hold = rich.holds("176").holds.remove(0);
    let least = hold.main_never_below(Some(176.0), (&reference, &air(15.0)), &rich.tables());
    assert_eq!(least, Some(176.0), "nothing says what the needle gives");
}
