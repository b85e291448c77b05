//! What is asked, with all that an answer needs: the setup that was right, its air, the tables and the bike's record.

use super::Unanswered;
use crate::advice::apart::{apart, over_runs};
use crate::advice::building;
use crate::advice::foundation::{Foundation, Ground, Nearness, has_run_right};
use crate::advice::handed::ran_lean_there;
use crate::advice::held::{
    Hold, Holds, Opened, Shelf, Tables, holds, judged_open, last_by_name, last_ran, lean_when_last_judged,
    opened_beside,
};
use crate::advice::learning::{Adviser, Baseline, Evidence, Settings, gather};
use crate::advice::parts::{Overdue, brought};
use crate::advice::rejet::setting::{self, counts_alike};
use crate::advice::rejet::{RejetRequest, delivered_at, factor_between};
use crate::advice::sisters::sisters;
use crate::advice::slips::is_alcohol;
use crate::air::{Air, Uncertainty};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Guidance;
use crate::notebook::{
    AirEntry, AirEntryError, Combination, FieldSet, Fuel, Setup, When, differing, section_of,
};
use crate::quantity::{Quantity, nearly_equal};
use crate::store::{Book, Garage, SetupRecord, StoreError};

/// A bike, the setup that advice for it stands on, and all that an answer for any air needs.
///
/// ```no_run
/// use std::path::Path;
///
/// use reedbook::advice::asking::{Question, Terms};
/// use reedbook::notebook::{AirEntry, When};
/// use reedbook::store::{Book, Garage};
///
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let garage = Garage::open(Path::new("demo"))?;
/// let book = Book::open(&garage)?;
/// let today = When::from_unix(1_759_572_000, 120).unwrap_or_default();
/// let question = Question::ask(&book, "moth", &Terms::default(), today)?;
/// let air = AirEntry::parse("temp=18 C; baro=1008 hPa; humidity=55 %")?;
/// let answer = question.answer(&air, &question.settings(None)?, false)?;
/// for jet in &answer.advised.rejet.jets {
///     println!("{}: {} to {:?}", jet.field, jet.current, jet.advised);
/// }
/// # Ok(())
/// # }
/// ```
#[expect(clippy::struct_excessive_bools, reason = "what is known of the bike, each by itself")]
pub struct Question<'g> {
    /// The garage.
    pub garage: &'g Garage,
    /// Its records.
    pub book: &'g Book<'g>,
    /// The setup that was right.
    pub baseline: SetupRecord,
    /// What that setup says.
    pub whole: Combination,
    /// Why it is stood on.
    pub ground: Ground,
    /// What is on the bike as it stands.
    pub now: Combination,
    /// The groove that the baseline's needle hangs in by the bike's jobs, or the richer one that is recorded; none with another needle in.
    hangs_in: Option<u8>,
    /// The main jet, or the trim, that is in it by the bike's jobs.
    pub(super) main_in_it: Option<f64>,
    /// The pilot jet and the power jet that are in it by the bike's jobs.
    jets_in_it: [Option<f64>; 2],
    /// What is on the bike by its jobs, where those of the jetting are open: `now` is what was recorded.
    pub(super) not_as_recorded: Option<FieldSet>,
    /// The runs that forbid going leaner.
    pub holds: Holds,
    /// The air it was right in, and where that is from.
    pub baseline_air: (AirEntry, String),
    /// The same air.
    pub from: Air,
    /// Whether the baseline is marked proven in that air.
    pub vouched_for: bool,
    from_doubt: Uncertainty,
    /// The day on which it is asked.
    pub(super) today: When,
    /// What changes about the fuel.
    pub fuel: Option<Fuel>,
    /// Whether that fuel was asked about, and is not only what is in the tank.
    fuel_is_typed: bool,
    /// The tables that it is reckoned by.
    shelf: Shelf,
    /// The main jet, or the trim, that was judged last at full throttle, or else ran last, where that is not what is on the bike.
    main_that_ran: Option<f64>,
    /// The setup that ran last, where what is on the bike has not run.
    pub(super) ran: Option<Combination>,
    /// Cylinders that ran lean in the last run while another did not, or go another way than the others over several runs, and what to
    /// look for there, in sentences: whichever is asked about.
    pub apart: Vec<String>,
    /// Whether one of several cylinders was lean when it was last judged: until that is cleared up none gets less.
    pub(super) one_was_lean: bool,
    /// Another cylinder that was mended, where the engine has not run since: none gets less but for the air.
    pub(super) opened_beside: Option<Opened>,
    /// Whether this cylinder goes another way than the others over several runs: it is looked at before it gets less.
    pub(super) goes_apart: bool,
    /// Number of the newest setup.
    pub newest: Option<u32>,
}

impl<'g> Question<'g> {
    /// Whether another cylinder, or this one, was lean when it was last judged.
    pub fn neighbour_was_lean(&self) -> bool {
        self.one_was_lean
    }

    /// What forbids to run the bike's engine as it stands, whatever is fitted, a sentence each: by its newest build, and parts that were in
    /// another engine when it seized.
    pub fn not_to_be_run(&self) -> Result<Vec<String>, StoreError> {
        let Some(engine) = self.now.fields.text("engine") else { return Ok(Vec::new()) };
        let (book, stop) = (self.book.of_all(), building::not_to_be_run(self.book, engine, self.today)?);
        let seized = brought(&book, (engine, self.today), &building::parts_at(&book, engine, self.today)?)?;
        Ok(stop.into_iter().chain(seized.iter().map(Overdue::sentence)).collect())
    }

    /// A piston, ring or cylinder that has not run in the bike's engine yet, in a sentence.
    pub fn not_run_in(&self) -> Result<Option<String>, StoreError> {
        let Some(engine) = self.now.fields.text("engine") else { return Ok(None) };
        building::not_run_in(&self.book.of_all(), engine, self.today)
    }

    /// What the newest build of the bike's engine measured and the setup has otherwise.
    pub fn otherwise_measured(&self) -> Result<Option<Guidance>, StoreError> {
        let Some(engine) = self.now.fields.text("engine") else { return Ok(None) };
        building::take_over(&self.book.of_all(), engine, self.today)
    }

    /// What is said of a jetting that was handed over and ran lean or seized where it comes from.
    pub fn ran_lean_there(&self) -> Result<Vec<String>, StoreError> {
        ran_lean_there(self.book, &self.baseline.bike, &self.now.fields)
    }

    /// A bike asked about from a foundation; with another fuel than that in the tank where one is given.
    pub fn new(
        book: &'g Book<'g>,
        Foundation { setup: baseline, air, ground }: Foundation,
        now: Combination,
        fuel: Option<Fuel>,
        today: When,
    ) -> Result<Self, Unanswered> {
        let garage = book.garage();
        let bike = garage.bike(&baseline.bike)?;
        let baseline_air = air.ok_or_else(|| Unanswered::AirNotKnown {
            is_marked: bike.proven.contains_key(&baseline.id),
            bike: baseline.bike.clone(),
            number: baseline.number,
        })?;
        let mut whole = book.combination(&baseline.bike, Some(&baseline))?;
        if whole.setup.is_none() || !whole.findings.is_empty() {
            return Err(Unanswered::Findings(whole.findings));
        }
        let fuel_is_typed = fuel.is_some();
        let fuel = fuel.or_else(|| in_the_tank(&whole, &now, baseline_air.0.air().ok()?));
        let reading = baseline_air.0.reading()?;
        let mark = bike.proven.get(&baseline.id).and_then(|mark| mark.air.as_ref());
        let shelf = Shelf::of(book, &baseline.bike)?;
        let mut holds = holds(book, &baseline.bike, &now, &shelf.tables())?;
        holds.holds.append(&mut holds.run_in);
        if !holds.is_empty() {
            hang_as_on_the_bike(&mut whole, &now, &shelf.tables());
        }
        let on_it = by_its_jobs(book, &baseline.bike)?;
        // A richer groove that is recorded and not fitted yet was chosen after the run that holds: an answer does not take it back.
        let hung = hangs_in(on_it.as_ref().unwrap_or(&now.fields), &whole.fields);
        let hangs_in = hung.max(hangs_in(&now.fields, &whole.fields));
        let main_in_it = on_it.as_ref().and_then(|on_it| setting::metered_like(on_it, &now.fields));
        let main_in_it = main_in_it.or_else(|| setting::metered_now(&now.fields));
        // A number by flow is no place in a row of sizes by bore.
        let main_in_it = main_in_it.filter(|_| counts_alike(&whole.fields, &now.fields, "jetting.main"));
        let in_it = |field: &str| {
            let on_it = on_it.as_ref().unwrap_or(&now.fields);
            on_it.quantity(field).map(Quantity::si).filter(|_| counts_alike(&whole.fields, on_it, field))
        };
        let jets_in_it = ["jetting.pilot", "jetting.power_jet"].map(in_it);
        let not_as_recorded = on_it.filter(|on_it| {
            let meters = |field: &str| matches!(section_of(field), "jetting" | "injection");
            differing(on_it, &now.fields).any(meters)
        });
        let ran = last_ran(book, &baseline.bike, &now)?;
        let ran = ran.map(|(_, ran)| ran);
        let (apart, goes_apart) = stands_apart(book, &baseline.bike, &shelf.tables())?;
        // A run that nobody judged with the throttle open showed nobody a plug: the steps go on from where one was read.
        let judged = judged_open(book, &baseline.bike, &now)?.map(|(_, judged)| judged);
        let counted = judged.as_ref().or(ran.as_ref());
        let main_that_ran = counted.and_then(|ran| setting::metered_like(&ran.fields, &now.fields));
        let main_that_ran =
            main_that_ran.filter(|_| counts_alike(&whole.fields, &now.fields, "jetting.main"));
        Ok(Self {
            ground,
            now,
            hangs_in,
            main_in_it,
            jets_in_it,
            not_as_recorded,
            holds,
            main_that_ran,
            ran,
            apart,
            goes_apart,
            one_was_lean: lean_when_last_judged(book, &baseline.bike)?.is_some(),
            opened_beside: opened_beside(book, &baseline.bike)?,
            newest: book.latest(&baseline.bike)?.map(|setup| setup.number),
            vouched_for: mark.is_some_and(|air| air.line() == baseline_air.0.line()),
            from: baseline_air.0.air()?,
            from_doubt: reading.uncertainty().map_err(AirEntryError::from)?,
            shelf,
            garage,
            book,
            baseline,
            whole,
            baseline_air,
            fuel,
            fuel_is_typed,
            today,
        })
    }

    /// The setup that was right, read.
    pub fn setup(&self) -> Result<&Setup, Unanswered> {
        self.whole.setup.as_ref().ok_or_else(|| Unanswered::Findings(self.whole.findings.clone()))
    }

    /// The request for one air. `doubt` is how far that air may be off, where it is known.
    pub fn request<'q>(
        &'q self,
        air: Air,
        doubt: Option<&'q Uncertainty>,
    ) -> Result<RejetRequest<'q>, Unanswered> {
        if let Some((before, after)) = self.fuels_by_name().filter(|(_, after)| is_alcohol(after)) {
            return Err(Unanswered::Alcohol { before: visible(before), after: visible(after) });
        }
        let tables = self.tables();
        let least_main = [self.main_never_below(&air)?, self.gap_in_the_box().map(|gap| gap.stays)];
        Ok(RejetRequest {
            baseline_doubt: Some(&self.from_doubt),
            doubt,
            main_at_least: least_main.into_iter().flatten().reduce(f64::max),
            fuel: self.fuel.as_ref(),
            fuel_written: self.now.setup.as_ref().and_then(|setup| setup.fuel.as_ref()),
            own_box: tables.own_box,
            main_on_the_bike: self.main_in_it,
            main_that_ran: self.main_that_ran,
            pilot_on_the_bike: self.jets_in_it[0],
            power_on_the_bike: self.jets_in_it[1],
            unproven: self.ground.nearness() == Nearness::Another
                || self.fuels_by_name().is_some()
                || self.meters_otherwise(),
            still_lean_at: self.still_lean_at(),
            no_groove_back: self.holds.holds.iter().chain(&self.holds.not_again).any(|hold| !hold.mended),
            hangs_in: self.hangs_in,
            ..RejetRequest::new(self.setup()?, self.from, air, tables.jets, tables.needles, tables.shares)
        })
    }

    /// The air of the baseline again: the request for it shows what is on the bike.
    pub fn unchanged(&self) -> Result<RejetRequest<'_>, Unanswered> {
        Ok(RejetRequest { fuel: None, ..self.request(self.from, None)? })
    }

    /// The bike's outings as they speak of this baseline.
    pub fn evidence(&self, settings: &Settings) -> Result<Evidence, Unanswered> {
        // After a lean run a mark alone is no evidence: nobody ran what it promises.
        let is_held = self.holds.holds.iter().any(|hold| hold.zone == "full");
        let tables = self.tables();
        let baseline = Baseline {
            record: &self.baseline,
            whole: &self.whole,
            now: &self.now.fields,
            air: self.from,
            vouched_for: self.vouched_for && (!is_held || has_run_right(self.book, &self.baseline)?),
            today: self.today,
            jets: tables.jets,
            needles: tables.needles,
            shares: tables.shares,
        };
        let sisters = sisters(self.book, &baseline, settings)?;
        Ok(Evidence { sisters, ..gather(self.book, &baseline, settings)? })
    }

    /// Theory, with the record where there is one. `doubt` is how far the air asked for may be off, where it is one.
    pub fn adviser(
        &self,
        evidence: Option<&Evidence>,
        settings: &Settings,
        doubt: Option<&Uncertainty>,
    ) -> Result<Adviser, Unanswered> {
        let none = Evidence::default();
        let request = RejetRequest { doubt, ..self.unchanged()? };
        Ok(Adviser::new(&request, evidence.unwrap_or(&none), settings)?)
    }

    /// The tables that it is reckoned by.
    pub fn tables(&self) -> Tables<'_> {
        self.shelf.tables()
    }

    /// The first field of carburetor, injection or fuel in which the bike differs from the baseline, of those that the advice does not
    /// set: the advice cannot be recorded then.
    pub fn other_metering<'f>(&self, moved_on: &'f [String]) -> Option<&'f str> {
        let asked_for = self.fuel.is_some();
        let of_metering = |field: &&String| match section_of(field) {
            "jetting" => !setting::is_fitted(field),
            "injection" => true,
            "fuel" => !asked_for,
            _ => false,
        };
        moved_on.iter().find(of_metering).map(String::as_str)
    }

    /// Whether the bike's carburetor or injection differs in what an advice cannot set: a jet's number is another mixture on it.
    fn meters_otherwise(&self) -> bool {
        let moved_on = setting::moved_on(&self.whole.fields, &self.now.fields);
        moved_on.iter().any(|field| matches!(section_of(field), "jetting" | "injection"))
    }

    /// Fuel that another setup passes at a zone over what this one passes, where that can be said.
    pub fn delivered(&self, setup: &Setup, other: &Setup, zone: &str) -> Option<f64> {
        let tables = self.tables();
        let zones = delivered_at(setup, other, tables.jets, tables.needles, tables.shares);
        zones.into_iter().find(|(name, _)| *name == zone)?.1.ok()
    }

    /// The fuel it stands on and another that is asked for or in the tank, where no ratio of air to
    /// fuel tells the two apart.
    pub fn fuels_by_name(&self) -> Option<(&str, &str)> {
        let before = self.whole.fields.text("fuel.name")?;
        let asked = self.fuel.as_ref().filter(|_| self.fuel_is_typed).and_then(|fuel| fuel.name.as_deref());
        let after = asked.or_else(|| self.now.fields.text("fuel.name"))?;
        let same_name = before.trim().to_lowercase() == after.trim().to_lowercase();
        let ratio = |fuel: Option<&Fuel>| Some(fuel?.stoichiometric_ratio.as_ref()?.si());
        let had = ratio(self.whole.setup.as_ref()?.fuel.as_ref());
        let in_the_tank = ratio(self.now.setup.as_ref().and_then(|setup| setup.fuel.as_ref()));
        // Two petrols may burn alike: who types the ratio knows it. A density alone tells no alcohol from petrol.
        let told_apart = match (asked.is_some(), ratio(self.fuel.as_ref())) {
            (true, typed) => typed.is_some(),
            (false, _) => had.zip(in_the_tank).is_some_and(|(had, now)| !nearly_equal(had, now)),
        };
        (!same_name && !told_apart).then_some((before, after))
    }

    /// Whether the fuel that is asked for or in the tank has another factor than the one it stands on.
    pub fn is_denser_or_lighter(&self) -> bool {
        let setup = self.whole.setup.as_ref();
        let factor = setup.map(|setup| factor_between(setup, self.from, self.from, self.fuel.as_ref()));
        factor.is_some_and(|factor| factor.is_ok_and(|factor| (factor - 1.0).abs() > 1e-6))
    }

    /// The first field in which the bike's injection is another one than that which the answer stands on, but for one.
    pub fn other_injection(&self, but_for: Option<&str>) -> Option<String> {
        let moved_on = setting::moved_on(&self.whole.fields, &self.now.fields);
        let other = |field: &String| section_of(field) == "injection" && Some(field.as_str()) != but_for;
        moved_on.into_iter().find(other)
    }

    /// A zone that the clip rules, where a run was lean and no richer groove ran since, by the needle's name.
    fn still_lean_at(&self) -> Option<&'static str> {
        let clip = |fields: &FieldSet| fields.quantity("jetting.clip").map(Quantity::value);
        let needle = |fields: &FieldSet| fields.text("jetting.needle").map(str::to_owned);
        let as_lean = |hold: &&Hold| {
            let Some(ran) = hold.ran_on() else { return false };
            let no_richer = clip(ran).zip(clip(&self.now.fields)).is_some_and(|(ran, now)| now <= ran);
            !hold.mended && no_richer && needle(ran) == needle(&self.now.fields)
        };
        ["half", "three_quarters", "quarter"]
            .into_iter()
            .find(|zone| self.holds.holds.iter().any(|hold| hold.zone == *zone && as_lean(&hold)))
    }

    /// The needle that the baseline names.
    pub fn needle(&self) -> Option<&str> {
        self.whole.fields.text("jetting.needle")
    }
}

/// What is on a bike by its jobs, at the cylinder that is asked about; none where nothing was noted since it ran.
fn by_its_jobs(book: &Book<'_>, bike: &str) -> Result<Option<FieldSet>, StoreError> {
    // Jobs are of the machine: a tick says by name at which cylinder. All of them count, those of the minute in which it ran as well.
    let jobs = book.of_all().open_jobs_of(bike)?;
    let here = |on_it: &FieldSet| match book.cylinder() {
        Some(name) => on_it.for_cylinder(name),
        None => on_it.clone(),
    };
    Ok(jobs.on_it().map(here))
}

/// The groove that the baseline's needle hangs in on the bike; none with another needle in.
fn hangs_in(on_it: &FieldSet, baseline: &FieldSet) -> Option<u8> {
    if on_it.text("jetting.needle") != baseline.text("jetting.needle") {
        return None;
    }
    let clip = on_it.quantity("jetting.clip").map(Quantity::value);
    clip.and_then(|clip| (1..=u8::MAX).find(|groove| nearly_equal(f64::from(*groove), clip)))
}

/// A setup with the needle hung as on the bike, where it hangs leaner in it and nothing says what a groove gives: under a lean run no
/// advice takes a groove back.
fn hang_as_on_the_bike(whole: &mut Combination, now: &Combination, tables: &Tables<'_>) {
    let clip = |of: &Combination| of.fields.quantity("jetting.clip").map(Quantity::value);
    let needle = |of: &Combination| of.fields.text("jetting.needle").map(str::to_owned);
    let is_leaner = clip(whole).zip(clip(now)).is_some_and(|(stood, hangs)| stood < hangs);
    if !is_leaner || needle(whole) != needle(now) {
        return;
    }
    let (Some(setup), Some(bike)) = (whole.setup.as_mut(), now.setup.as_ref()) else { return };
    let zones = delivered_at(setup, bike, tables.jets, tables.needles, tables.shares);
    let is_reckoned = zones.iter().any(|(zone, fuel)| *zone == "half" && fuel.is_ok());
    let (Some(jetting), Some(hangs)) = (setup.jetting.as_mut(), bike.jetting.as_ref()) else { return };
    if is_reckoned {
        return;
    }
    jetting.clip.clone_from(&hangs.clip);
    if let Some(entry) = now.fields.entry("jetting.clip") {
        whole.fields.insert("jetting.clip".to_owned(), entry.clone());
    }
}

/// The fuel on the bike as it stands, where it is another one than the baseline's and the two can be set against each other: the answer
/// is for what is in the tank.
fn in_the_tank(baseline: &Combination, now: &Combination, air: Air) -> Option<Fuel> {
    let differs = |field: &str| section_of(field) == "fuel" && !field.ends_with("temperature");
    differing(&baseline.fields, &now.fields).any(differs).then_some(())?;
    let fuel = now.setup.as_ref()?.fuel.as_ref()?;
    let fuel = Fuel { temperature: None, ..fuel.clone() };
    factor_between(baseline.setup.as_ref()?, air, air, Some(&fuel)).is_ok().then_some(fuel)
}

/// What is to be looked for at a cylinder that goes another way than the others, over several runs or else in the last one; and whether
/// over several runs it is the one that is asked about.
fn stands_apart(book: &Book<'_>, bike: &str, tables: &Tables<'_>) -> Result<(Vec<String>, bool), StoreError> {
    let Some(asked) = book.cylinder() else { return Ok((Vec::new(), false)) };
    let over_runs = over_runs(book, bike, tables)?;
    if !over_runs.is_empty() {
        let with = book.of_all().combination(bike, None)?.fields.sharing_with(asked);
        let is_it = over_runs.iter().any(|(name, _)| name == asked || with.contains(name));
        return Ok((over_runs.into_iter().map(|(_, sentence)| sentence).collect(), is_it));
    }
    let last = last_by_name(book, bike)?;
    let apart: Vec<String> =
        last.iter().flat_map(|record| apart(&record.outing)).map(|one| one.sentence).collect();
    let lean = lean_when_last_judged(book, bike)?.filter(|_| apart.is_empty());
    let lean = match lean {
        Some((sentence, _)) => Some(sentence),
        None => opened_beside(book, bike)?.map(|opened| opened.sentence),
    };
    Ok((apart.into_iter().chain(lean).collect(), false))
}
