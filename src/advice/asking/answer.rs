//! Everything that is found for one air.

use std::rc::Rc;

use super::foundation::AS_GIVEN;
use super::{Question, Unanswered};
use crate::advice::combined::combined_never_run;
use crate::advice::foundation::has_run_right;
use crate::advice::held::Hold;
use crate::advice::learning::{Advised, Adviser, Evidence, Floor, Foretold, Settings, leave_one_out};
use crate::advice::rejet::{Rejet, WITH_THE_NAME, setting};
use crate::advice::slips::{self, AirBeside, Slip, of_air};
use crate::advice::{cautions, standing};
use crate::air::Uncertainty;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::guidance::Guidance;
use crate::notebook::{AirEntry, AirEntryError, FieldSet, JobItem, When, section_of};
use crate::quantity::Units;
use crate::store::BikeJobs;

/// The advices of a garage in which so many runs are logged are its first.
const FIRST_RUNS: usize = 3;
/// Up to so much above it a run is named that nothing goes below (common practice, no source: less than a size).
const NEXT_SIZE: f64 = 1.015;

/// What was found for one air.
pub struct Answered<'q> {
    /// What was asked.
    pub question: &'q Question<'q>,
    /// The air that it is for.
    pub air: AirEntry,
    /// The record, weighed.
    pub adviser: Rc<Adviser>,
    /// The outings that spoke; none where the record was left out.
    pub evidence: Option<Rc<Evidence>>,
    /// What to fit.
    pub advised: Advised,
    /// The runs that forbid going leaner, with the least fuel each leaves.
    pub held: Vec<(&'q Hold, Floor)>,
    /// Fuel that the bike as it stands passes at each zone over the setup it starts from.
    pub left: Vec<(&'static str, f64)>,
    /// What differs from the files on disk: what is recorded.
    pub to_set: Vec<(String, String)>,
    /// The field of its metering that differs there, so that the advice cannot be recorded.
    pub other_metering: Option<String>,
    /// Whether the setup it starts from was right once, or somebody says so.
    pub was_right: bool,
    /// Jetting that is recorded and by the jobs not on the bike: the field, and what is to be done.
    pub not_fitted: Vec<(String, String)>,
    /// What is on the bike by its jobs, where jetting is recorded that is not.
    pub on_it: Option<Rc<FieldSet>>,
    /// Whether it is the garage's first advice.
    pub first_of_the_garage: bool,
    /// What else should be known, in sentences.
    pub remarks: Vec<Guidance>,
}

/// The record of a bike, weighed once for answers in many airs, with what else is the same in each of them.
#[derive(Clone)]
pub struct Weighed {
    adviser: Rc<Adviser>,
    evidence: Option<Rc<Evidence>>,
    not_fitted: Vec<(String, String)>,
    on_it: Option<Rc<FieldSet>>,
    first_of_the_garage: bool,
    was_right: bool,
    not_right: Option<String>,
}

impl<'g> Question<'g> {
    /// The answer for one air; from theory alone, the bike's own record left out, where that is asked for.
    ///
    /// # Errors
    /// Where the air is none, a document cannot be read, or the setup lacks what the calculation needs.
    pub fn answer<'q>(
        &'q self,
        air: &AirEntry,
        settings: &Settings,
        theory: bool,
    ) -> Result<Answered<'q>, Unanswered>
    where
        'g: 'q,
    {
        let doubt = air.reading()?.uncertainty().map_err(AirEntryError::from)?;
        self.answer_from(air, self.weighed(settings, theory, Some(&doubt))?)
    }

    /// The record weighed for airs that may be off by so much.
    pub fn weighed(
        &self,
        settings: &Settings,
        theory: bool,
        doubt: Option<&Uncertainty>,
    ) -> Result<Weighed, Unanswered> {
        let evidence = if theory { None } else { Some(self.evidence(settings)?) };
        let not_fitted = self.not_fitted()?;
        let on_it = if not_fitted.is_empty() { None } else { self.on_it_by_its_jobs()?.map(Rc::new) };
        Ok(Weighed {
            adviser: Rc::new(self.adviser(evidence.as_ref(), settings, doubt)?),
            evidence: evidence.map(Rc::new),
            not_fitted,
            on_it,
            first_of_the_garage: self.is_first_advice()?,
            was_right: self.vouched_for || has_run_right(self.book, &self.baseline)?,
            not_right: standing::not_right(self.book, &self.baseline.bike, &self.baseline)?,
        })
    }

    /// Gives an answer its cautions: with the one for less fuel where what is set takes fuel away from the bike as it stands.
    pub(super) fn say_cautions(&self, rejet: &mut Rejet) {
        let leaner = self.takes_fuel_away(rejet);
        rejet.cautions = cautions::for_step(leaner, rejet.injection.is_some());
    }

    /// Whether an answer makes the bike run on less fuel, at any throttle, than what is on it does: by its jobs, where those of the
    /// jetting are open.
    pub fn takes_fuel_away(&self, rejet: &Rejet) -> bool {
        let (Some(setup), Some(fitted)) = (&self.whole.setup, &self.now.setup) else {
            return rejet.takes_fuel_away();
        };
        let on_it = self.not_as_recorded.as_ref().unwrap_or(&self.now.fields);
        let to_set = setting::to_set(rejet, &self.whole.fields, on_it);
        // What is on it by its jobs is no setup that could be set against the baseline.
        let delivered = |zone: &str| match self.not_as_recorded {
            Some(_) => None,
            None => self.delivered(setup, fitted, zone),
        };
        // Areas do not compare two fuels: there the factor's own word stands, where anything is set to the lean side.
        let of_the_factor = || rejet.takes_fuel_away() && setting::any_leaner(&to_set, on_it);
        setting::takes_fuel_away(rejet, (on_it, &to_set), delivered)
            || (self.fuel.is_some() && of_the_factor())
    }

    /// The answer for one air from a record that was weighed.
    pub fn answer_from<'q>(&'q self, air: &AirEntry, weighed: Weighed) -> Result<Answered<'q>, Unanswered>
    where
        'g: 'q,
    {
        let reading = air.reading()?;
        let doubt = reading.uncertainty().map_err(AirEntryError::from)?;
        let request = self.request(air.air()?, Some(&doubt))?;
        let floors = self.floors(&air.air()?)?;
        let mut advised = weighed.adviser.advise(&request, &floors)?;
        let to_set = setting::to_set(&advised.rejet, &self.whole.fields, &self.now.fields);
        self.say_cautions(&mut advised.rejet);
        let mut remarks: Vec<Guidance> = reading.remarks().into_iter().map(Guidance::from).collect();
        let full = advised.rejet.zones.iter().find(|zone| zone.zone == "full").map(|zone| zone.delivered);
        let mended = self.not_below_the_mended(&air.air()?)?;
        let binds = mended.filter(|(_, least)| full.is_some_and(|full| full < least * NEXT_SIZE));
        remarks.extend(binds.map(|(hold, _)| hold.not_below_in_words().into()));
        let held = self.held_near(&air.air()?, &advised.rejet)?;
        // What the answer begins with is not said again.
        let said = held.iter().any(|(hold, _)| hold.seizure && hold.setup() == Some(self.baseline.number));
        remarks.extend(weighed.not_right.filter(|_| !said).map(Guidance::from));
        remarks.extend(self.stops_above_a_gap(&advised.rejet).map(Guidance::from));
        if let Some(latest) = self.book.latest(&self.baseline.bike)? {
            remarks.extend(combined_never_run(self.book, &latest)?);
        }
        let moved_on = setting::moved_on(&self.whole.fields, &self.now.fields);
        Ok(Answered {
            to_set,
            other_metering: self.other_metering(&moved_on).map(str::to_owned),
            held,
            left: self.left_on_the_bike(),
            not_fitted: weighed.not_fitted,
            on_it: weighed.on_it,
            first_of_the_garage: weighed.first_of_the_garage,
            was_right: weighed.was_right,
            question: self,
            air: air.clone(),
            adviser: weighed.adviser,
            evidence: weighed.evidence,
            advised,
            remarks,
        })
    }

    /// Jetting that is recorded and not on the bike by its jobs: its field, and what is to be done.
    pub fn not_fitted(&self) -> Result<Vec<(String, String)>, Unanswered> {
        let open = self.open_jetting()?;
        Ok(open.into_iter().map(|(field, item)| (field, item.what)).collect())
    }

    /// What is on the bike by its jobs; none where nothing was noted since it ran.
    pub fn on_it_by_its_jobs(&self) -> Result<Option<FieldSet>, Unanswered> {
        let jobs = self.book.of_all().open_jobs_of(&self.baseline.bike)?;
        let here = |on_it: &FieldSet| match self.book.cylinder() {
            Some(name) => on_it.for_cylinder(name),
            None => on_it.clone(),
        };
        Ok(jobs.on_it().map(here))
    }

    /// The size that is still in the bike by its jobs, where another one is recorded.
    pub fn still_in(&self, field: &str) -> Result<Option<f64>, Unanswered> {
        let open = self.open_jetting()?;
        let item = open.into_iter().find(|(open, _)| open == field).map(|(_, item)| item);
        Ok(item.and_then(|item| item.from).and_then(|from| from.parse().ok()))
    }

    /// Jobs of the fuel that are open: by them another fuel is in the tank than the answer is for.
    ///
    /// # Errors
    /// Where the jobs cannot be read.
    pub fn fuel_not_in_the_tank(&self) -> Result<Vec<String>, Unanswered> {
        let open = self.open_jobs(|field| section_of(field) == "fuel")?;
        let asked = self.fuel.as_ref().and_then(|fuel| fuel.name.as_deref());
        let written = self.now.fields.text("fuel.name");
        let Some(asked) = asked.filter(|asked| Some(*asked) != written && !open.is_empty()) else {
            return Ok(open.into_iter().map(|(_, item)| item.what).collect());
        };
        // Not what is written down goes in, but what was asked for.
        let name = open.iter().find(|(field, _)| field == "fuel.name");
        let tank = name.map_or(written, |(_, item)| item.from.as_deref()).filter(|tank| *tank != asked);
        let fill = tank.map(|tank| format!("fuel {tank} → {asked}"));
        let rest = open.iter().filter(|(field, _)| !WITH_THE_NAME.contains(&field.as_str()));
        Ok(fill.into_iter().chain(rest.map(|(_, item)| item.what.clone())).collect())
    }

    /// Jobs of jetting that are open, by their fields.
    fn open_jetting(&self) -> Result<Vec<(String, JobItem)>, Unanswered> {
        self.open_jobs(|field| matches!(section_of(field), "jetting" | "injection"))
    }

    /// Open jobs of some fields, with each field as the asked cylinder has it.
    fn open_jobs(&self, of: impl Fn(&str) -> bool) -> Result<Vec<(String, JobItem)>, Unanswered> {
        // Jobs are of the machine: a tick says by name at which cylinder.
        let jobs = self.book.of_all().open_jobs()?;
        let own = jobs.iter().filter(|jobs| jobs.bike == self.baseline.bike).flat_map(BikeJobs::open);
        // Of several cylinders what is done at another one is no matter here.
        let here = |field: &str| match (self.book.cylinder(), own_of(field)) {
            (Some(asked), Some((name, rest))) => {
                name.split('+').any(|name| name == asked).then(|| rest.to_owned())
            }
            _ => Some(field.to_owned()),
        };
        let open = own.filter_map(|job| Some((here(&job.item.field)?, job.item.clone())));
        Ok(open.filter(|(field, _)| of(field)).collect())
    }

    /// Whether this is the garage's first advice: a few runs at most are logged, of all bikes, and nobody read all the cautions here.
    fn is_first_advice(&self) -> Result<bool, Unanswered> {
        if self.book.garage().repository().were_cautions_read() {
            return Ok(false);
        }
        let mut runs = 0;
        for bike in self.book.garage().bikes() {
            runs += self.book.outings(&bike)?.len();
        }
        Ok(runs <= FIRST_RUNS)
    }

    /// What is to be asked of an air before it is answered for: read at a place, or where the bike runs.
    pub fn slips(
        &self,
        air: &AirEntry,
        place: Option<&str>,
        now_and_units: (When, Units),
    ) -> Result<Vec<Slip>, Unanswered> {
        let mut asked = match place {
            Some(place) => slips::of_air_at(self.book, place, air, now_and_units)?,
            None => of_air(self.book, &self.baseline.bike, air, now_and_units)?,
        };
        let tank = self.now.setup.as_ref().and_then(|setup| setup.fuel.as_ref());
        asked.extend(self.baseline_slips(now_and_units.1)?);
        asked.extend(slips::oil(tank, self.fuel.as_ref()));
        asked.extend(slips::alcohol(self.fuel.as_ref()));
        asked.extend(slips::no_petrol(tank, self.fuel.as_ref()));
        Ok(asked)
    }

    /// What is to be asked of an air that was typed for the setup that the answer stands on: read where that one ran, or where the bike runs. A
    /// sea-level value there makes every answer too lean.
    pub fn baseline_slips(&self, units: Units) -> Result<Vec<Slip>, Unanswered> {
        if self.baseline_air.1 != AS_GIVEN {
            return Ok(Vec::new());
        }
        let (bike, number) = (&self.baseline.bike, Some(self.baseline.number));
        let runs = self.book.of_all().outings(bike)?;
        let place = |own: bool| {
            let runs = runs.iter().rev().filter(|run| !own || run.setup == number);
            runs.into_iter().find_map(|run| run.outing.place.clone())
        };
        let beside = match place(true).or_else(|| place(false)) {
            Some(place) => AirBeside::at(self.book, &place, (self.today, units))?,
            None => AirBeside::where_it_runs(self.book, bike, (self.today, units))?,
        };
        let of_baseline = |slip: Slip| Slip { question: format!("Baseline air: {}", slip.question), ..slip };
        Ok(beside.ask_of_a_forecast(&self.baseline_air.0).into_iter().map(of_baseline).collect())
    }

    /// What is to be asked of pressures that a card is wanted for, a question each: none like it was read in this garage.
    pub fn pressures_asked(&self, airs: &[AirEntry], units: Units) -> Result<Vec<String>, Unanswered> {
        let beside = AirBeside::where_it_runs(self.book, &self.baseline.bike, (self.today, units))?;
        let asked = airs.iter().flat_map(|air| beside.ask(air)).filter(Slip::is_of_height);
        let mut questions: Vec<String> = asked.map(|slip| slip.question).collect();
        questions.dedup();
        Ok(questions)
    }
}

impl Answered<'_> {
    /// What of its questions is only said beside it, and what is asked before any size. Another height makes an odd pressure as well as a
    /// slip does, so that it is answered for; but nothing leaner is fitted for an air that may be none.
    pub fn said_and_asked(&self, slips: Vec<Slip>) -> (Vec<Slip>, Vec<Slip>) {
        let leaner = self.takes_fuel_away();
        slips.into_iter().partition(|slip| slip.is_of_height() && !leaner)
    }

    /// Whether it makes the bike run on less fuel, at any throttle, than what is on it does.
    pub fn takes_fuel_away(&self) -> bool {
        self.question.takes_fuel_away(&self.advised.rejet)
    }

    /// What each outing would have been foretold from the others; none where the record was left out.
    pub fn foretold(&self, settings: &Settings) -> Result<Option<Vec<Foretold>>, Unanswered> {
        let of = |evidence: &Rc<Evidence>| leave_one_out(evidence, self.adviser.shape, settings);
        Ok(self.evidence.as_ref().map(of).transpose()?)
    }
}
