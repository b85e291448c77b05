//! What is asked, with all that an answer needs: the setup that was right, its air, the tables and the bike's record.

use crate::advice::foundation::{Foundation, Ground, Nearness, has_run_right};
use crate::advice::held::{Hold, Holds, Reference, Tables, holds, last_ran};
use crate::advice::learning::{Adviser, Baseline, Evidence, Floor, Settings, gather, lean_sign, other_parts};
use crate::advice::rejet::{RejetRequest, delivered_at, factor_between};
use crate::advice::sisters::sisters;
use crate::advice::{record, standing};
use crate::air::{Air, Uncertainty};
use crate::notebook::fields::names::visible;
use crate::notebook::{
    AirEntry, AirEntryError, Combination, Fuel, JetBox, NeedleBox, OwnBox, Setup, Shares, When, ZONES,
    differing, section_of,
};
use crate::quantity::Quantity;
use crate::report::jetting::moved_on::{bike_differs, has_and_had};
use crate::report::{RecordAnswer, RecordReport, Trouble};
use crate::store::{Book, Garage, SetupRecord};

/// The question.
pub(super) struct Question<'g> {
    pub(super) garage: &'g Garage,
    pub(super) book: &'g Book<'g>,
    /// The setup that was right.
    pub(super) baseline: SetupRecord,
    pub(super) whole: Combination,
    /// Why it is stood on.
    pub(super) ground: Ground,
    /// What is on the bike as it stands.
    pub(super) now: Combination,
    /// The runs that forbid going leaner.
    pub(super) holds: Holds,
    /// The air it was right in, and where that is from.
    pub(super) baseline_air: (AirEntry, String),
    from: Air,
    /// Whether the baseline is marked proven in that air.
    pub(super) vouched_for: bool,
    from_doubt: Uncertainty,
    /// The day on which it is asked.
    today: When,
    /// What changes about the fuel.
    pub(super) fuel: Option<Fuel>,
    jets: JetBox,
    needles: NeedleBox,
    shares: Shares,
    own_box: Option<OwnBox>,
    /// The main jet, or the trim, that ran last, where what is on the bike has not run.
    main_that_ran: Option<f64>,
    /// Number of the newest setup.
    pub(super) newest: Option<u32>,
}

impl<'g> Question<'g> {
    pub(super) fn new(
        garage: &'g Garage,
        book: &'g Book<'g>,
        Foundation { setup: baseline, air, ground }: Foundation,
        now: Combination,
        fuel: Option<Fuel>,
        today: When,
    ) -> Result<Self, Trouble> {
        let baseline_air = air.ok_or_else(|| air_not_known(garage, &baseline))?;
        let whole = book.combination(&baseline.bike, Some(&baseline))?;
        if whole.setup.is_none() || !whole.findings.is_empty() {
            return Err(Trouble::findings(whole.findings));
        }
        let fuel = fuel.or_else(|| in_the_tank(&whole, &now, baseline_air.0.air().ok()?));
        let reading = baseline_air.0.reading()?;
        let bike = garage.bike(&baseline.bike)?;
        let mark = bike.proven.get(&baseline.id).and_then(|mark| mark.air.as_ref());
        let (jets, needles, shares) = (garage.jets()?, garage.needles()?, garage.shares()?);
        let tables =
            Tables { jets: &jets, needles: &needles, shares: &shares, own_box: bike.own_box.as_ref() };
        let mut holds = holds(book, &baseline.bike, &now, &tables)?;
        holds.holds.append(&mut holds.run_in);
        let ran = last_ran(book, &baseline.bike, &now)?;
        let main_that_ran = ran.and_then(|(_, ran)| record::metered_like(&ran.fields, &now.fields));
        Ok(Self {
            ground,
            now,
            holds,
            main_that_ran,
            newest: book.latest(&baseline.bike)?.map(|setup| setup.number),
            vouched_for: mark.is_some_and(|air| air.line() == baseline_air.0.line()),
            from: baseline_air.0.air()?,
            from_doubt: reading.uncertainty().map_err(AirEntryError::from)?,
            jets,
            needles,
            shares,
            own_box: bike.own_box.clone(),
            garage,
            book,
            baseline,
            whole,
            baseline_air,
            fuel,
            today,
        })
    }

    pub(super) fn setup(&self) -> Result<&Setup, Trouble> {
        self.whole.setup.as_ref().ok_or_else(|| Trouble::findings(self.whole.findings.clone()))
    }

    /// The request for one air. `doubt` is how far that air may be off, where it is known.
    pub(super) fn request<'q>(
        &'q self,
        air: Air,
        doubt: Option<&'q Uncertainty>,
    ) -> Result<RejetRequest<'q>, Trouble> {
        Ok(RejetRequest {
            baseline_doubt: Some(&self.from_doubt),
            doubt,
            main_at_least: self.main_never_below(&air)?,
            fuel: self.fuel.as_ref(),
            own_box: self.own_box.as_ref(),
            main_on_the_bike: record::metered_now(&self.now.fields),
            main_that_ran: self.main_that_ran,
            unproven: self.ground.nearness() == Nearness::Another
                || self.fuel_by_name().is_some()
                || self.meters_otherwise(),
            ..RejetRequest::new(self.setup()?, self.from, air, &self.jets, &self.needles, &self.shares)
        })
    }

    /// The air of the baseline again: the request for it shows what is on the bike.
    pub(super) fn unchanged(&self) -> Result<RejetRequest<'_>, Trouble> {
        Ok(RejetRequest { fuel: None, ..self.request(self.from, None)? })
    }

    /// The bike's outings as they speak of this baseline.
    pub(super) fn evidence(&self, settings: &Settings) -> Result<Evidence, Trouble> {
        // After a lean run a mark alone is no evidence: nobody ran what it promises.
        let is_held = self.holds.holds.iter().any(|hold| hold.zone == "full");
        let baseline = Baseline {
            record: &self.baseline,
            whole: &self.whole,
            now: &self.now.fields,
            air: self.from,
            vouched_for: self.vouched_for && (!is_held || has_run_right(self.book, &self.baseline)?),
            today: self.today,
            jets: &self.jets,
            needles: &self.needles,
            shares: &self.shares,
        };
        let sisters = sisters(self.book, &baseline, settings)?;
        Ok(Evidence { sisters, ..gather(self.book, &baseline, settings)? })
    }

    /// Theory, with the record where there is one. `doubt` is how far the air asked for may be off, where it is one.
    pub(super) fn adviser(
        &self,
        evidence: Option<&Evidence>,
        settings: &Settings,
        doubt: Option<&Uncertainty>,
    ) -> Result<Adviser, Trouble> {
        let none = Evidence::default();
        let request = RejetRequest { doubt, ..self.unchanged()? };
        Ok(Adviser::new(&request, evidence.unwrap_or(&none), settings)?)
    }

    /// The least fuel that a lean run leaves allowed in an air, zone by zone, with the run that holds it.
    pub(super) fn held_in(&self, air: &Air) -> Result<Vec<(&Hold, Floor)>, Trouble> {
        let Some(on_the_bike) = &self.now.setup else {
            return Ok(Vec::new());
        };
        let reference = self.reference()?;
        let tables = self.tables();
        let held = ZONES.iter().filter_map(|(zone, _, _)| {
            let stands_on = (Reference::new(&reference, &self.whole.fields), on_the_bike);
            let held = self.holds.least(zone, stands_on, Some(air), &tables);
            let (hold, least) = held.or_else(|| self.ran_lean_on(zone, &reference, air))?;
            Some((hold, Floor { zone, least }))
        });
        Ok(held.collect())
    }

    /// What ran lean at a throttle below full is not gone back to in air like that, though a run on more was right since; and a run that
    /// cannot be reckoned still holds, by the main jet.
    fn ran_lean_on(&self, zone: &str, reference: &Setup, air: &Air) -> Option<(&Hold, f64)> {
        let whole = Reference::new(reference, &self.whole.fields);
        let outlived = self.holds.outlived.iter().filter(|hold| hold.zone == zone && zone != "full");
        let least = |hold: &Hold| hold.more_than_ran(whole, air, &self.tables());
        let most = outlived
            .filter_map(|hold| Some((hold, least(hold)?)))
            .reduce(|most, one| if one.1 > most.1 { one } else { most });
        let unreckoned = || self.holds.holds.iter().find(|hold| hold.zone == zone).map(|hold| (hold, 1.0));
        most.or_else(unreckoned)
    }

    /// The setup that was right, with what is in the tank: with other fuel a floor is for that.
    fn reference(&self) -> Result<Setup, Trouble> {
        let mut reference = self.setup()?.clone();
        if let Some(fuel) = &self.fuel {
            reference.fuel = Some(fuel.over(reference.fuel.as_ref()));
        }
        Ok(reference)
    }

    /// The main jet that no needle makes up for in an air: after a lean run at full throttle it never gets smaller. None where no run
    /// holds full throttle, and for fuel injection.
    fn main_never_below(&self, air: &Air) -> Result<Option<f64>, Trouble> {
        let reference = self.reference()?;
        let numbers = |setup: &Setup| setup.jetting.as_ref().and_then(|jetting| jetting.main_numbered_by);
        let tables = self.tables();
        let alike = self.now.setup.as_ref().is_some_and(|now| numbers(now) == numbers(&reference));
        let on_the_bike = self.now.fields.quantity("jetting.main").filter(|_| alike).map(Quantity::value);
        let held = self.holds.holds.iter().filter(|hold| hold.counts_like(numbers(&reference)));
        let mains = held.filter_map(|hold| {
            let by_air = hold.main_never_below(on_the_bike, (&reference, air), &tables)?;
            // Nobody knows why it seized: no air asks for a smaller one.
            let since = on_the_bike.map_or(hold.main, |now| hold.main.map(|main| main.max(now)));
            if hold.seizure { since } else { Some(by_air) }
        });
        Ok(mains.reduce(f64::max))
    }

    /// The floors alone; after a seizure no throttle gets less than it has on the bike either.
    pub(super) fn floors(&self, air: &Air) -> Result<Vec<Floor>, Trouble> {
        let held = self.held_in(air)?;
        let mut floors: Vec<Floor> = held.iter().map(|(_, floor)| *floor).collect();
        if held.iter().any(|(hold, _)| hold.seizure) {
            let left = self.left_on_the_bike().into_iter();
            let others = left.filter(|(zone, _)| held.iter().all(|(hold, _)| hold.zone != *zone));
            floors.extend(others.map(|(zone, least)| Floor { zone, least }));
        }
        Ok(floors)
    }

    pub(super) fn tables(&self) -> Tables<'_> {
        Tables {
            jets: &self.jets,
            needles: &self.needles,
            shares: &self.shares,
            own_box: self.own_box.as_ref(),
        }
    }

    /// The first field of carburetor, injection or fuel in which the bike differs from the baseline, of those that the advice does not
    /// set: the advice cannot be recorded then.
    pub(super) fn other_metering<'f>(&self, moved_on: &'f [String]) -> Option<&'f str> {
        let asked_for = self.fuel.is_some();
        let of_metering = |field: &&String| match section_of(field) {
            "jetting" => !record::is_fitted(field),
            "injection" => true,
            "fuel" => !asked_for,
            _ => false,
        };
        moved_on.iter().find(of_metering).map(String::as_str)
    }

    /// Whether the bike's carburetor or injection differs in what an advice cannot set: a jet's number is another mixture on it.
    fn meters_otherwise(&self) -> bool {
        let moved_on = record::moved_on(&self.whole.fields, &self.now.fields);
        moved_on.iter().any(|field| matches!(section_of(field), "jetting" | "injection"))
    }

    /// Fuel that another setup passes at a zone over what this one passes, where that can be said.
    pub(super) fn delivered(&self, setup: &Setup, other: &Setup, zone: &str) -> Option<f64> {
        let zones = delivered_at(setup, other, &self.jets, &self.needles, &self.shares);
        zones.into_iter().find(|(name, _)| *name == zone)?.1.ok()
    }

    /// Fuel that the bike as it stands passes at each zone over what the baseline passes, where that can be said.
    pub(super) fn left_on_the_bike(&self) -> Vec<(&'static str, f64)> {
        let (Some(setup), Some(now)) = (&self.whole.setup, &self.now.setup) else {
            return Vec::new();
        };
        let zones = delivered_at(setup, now, &self.jets, &self.needles, &self.shares);
        zones.into_iter().filter_map(|(zone, fuel)| Some((zone, fuel.ok()?))).collect()
    }

    /// What should be known of the setup that the answer stands on.
    pub(super) fn ground_words(&self) -> Result<Vec<String>, Trouble> {
        let number = self.baseline.number;
        let mut words: Vec<String> = Vec::new();
        let others = other_parts(&self.now.fields, &self.whole.fields);
        if !others.is_empty() {
            let mark = if self.ground.nearness() == Nearness::Another {
                " No run on the combination that is on the bike was right yet: start rich, and read plug and piston early."
            } else {
                ""
            };
            words.push(format!("Setup {number} had another {}.{mark}", others.join(", another ")));
        }
        if self.vouched_for && !has_run_right(self.book, &self.baseline)? {
            words.push(format!(
                "Setup {number} is marked proven, and no outing of it was judged right at full throttle: that is a promise, not a run."
            ));
        }
        Ok(words)
    }

    /// The needle that the baseline names.
    pub(super) fn needle(&self) -> Option<&str> {
        self.whole.fields.text("jetting.needle")
    }

    /// What differs on the bike from the baseline, in words.
    pub(super) fn moved_on(&self) -> Option<String> {
        let fields = record::moved_on(&self.whole.fields, &self.now.fields);
        let setup = (self.baseline.bike.as_str(), self.baseline.number);
        let others = bike_differs(
            setup,
            standing::ran_lean_last(self.book, &self.baseline),
            &fields,
            (&self.whole.fields, &self.now.fields),
        );
        let words: Vec<String> = self.unweighed_needle().into_iter().chain(others).collect();
        (!words.is_empty()).then(|| words.join(" "))
    }

    /// What is to be said where the bike has another needle than the baseline, one that could not be weighed.
    fn unweighed_needle(&self) -> Option<String> {
        let number = self.baseline.number;
        let stood_on = self.needle()?;
        let reckoned = format!("This is reckoned from {}, the needle of setup {number}", visible(stood_on));
        let Some(now) = self.now.fields.text("jetting.needle") else {
            return Some(format!("Which needle is on the bike is not written down. {reckoned}."));
        };
        let own = self.own_box.as_ref().map_or(&[][..], |own| own.needles.as_slice());
        let why = if now == stood_on {
            return None;
        } else if !self.needles.needles.contains_key(now) {
            "is not in configs/needles.toml, so what it passes is not known"
        } else if !own.is_empty() && !own.iter().any(|code| code == now) {
            "is not among the needles of the bike's box, so it was not weighed"
        } else {
            return None;
        };
        let now = visible(now);
        Some(format!("The needle on the bike, {now}, {why}. {reckoned}, and does not hold for {now}."))
    }

    /// What stands before a card, a plan or the cells of a map: the run that forbids anything leaner, one that is not to be explained
    /// (`surprise`), and what differs on the bike.
    pub(super) fn before_all(&self, surprise: Option<String>) -> Option<String> {
        let full = self.holds.holds.iter().find(|hold| hold.zone == "full");
        let held = full.or(self.holds.holds.first()).filter(|hold| !hold.mended).map(|hold| {
            format!(
                "Nothing leaner: the run of {} was lean or seized (\"{}\"). Find out why before it is run again; what stands here keeps above that run.",
                hold.outing.outing.date.short(),
                visible(&hold.words)
            )
        });
        let words: Vec<String> = held
            .into_iter()
            .chain(self.before_any_size())
            .chain(self.seized_elsewhere())
            .chain(surprise)
            .chain(self.moved_on())
            .collect();
        (!words.is_empty()).then(|| words.join(" "))
    }

    /// What is to be known before any size: several lean runs in a row, a fuel of which only the name is known.
    pub(super) fn before_any_size(&self) -> Vec<String> {
        let mended = self.holds.mended.clone();
        self.lean_again().into_iter().chain(mended).chain(self.fuel_by_name()).collect()
    }

    /// Two runs and more on this combination were lean at full throttle, and none on more fuel was right since.
    fn lean_again(&self) -> Option<String> {
        let full = self.holds.holds.iter().filter(|hold| hold.zone == "full" && !hold.mended);
        let mut runs: Vec<&str> = full.map(|hold| hold.outing.id.as_str()).collect();
        runs.sort_unstable();
        runs.dedup();
        (runs.len() > 1).then(|| {
            format!(
                "{} runs were lean at full throttle and none was right since: look for an air leak, a blocked jet, a spark that slipped, other fuel, before re-jetting. Do not run it hard.",
                runs.len()
            )
        })
    }

    /// Another fuel than the one it stands on, of which nothing but its name tells the two apart.
    fn fuel_by_name(&self) -> Option<String> {
        let before = self.whole.fields.text("fuel.name")?;
        let asked = self.fuel.as_ref().and_then(|fuel| fuel.name.as_deref());
        let after = asked.or_else(|| self.now.fields.text("fuel.name"))?;
        let same_name = before.trim().to_lowercase() == after.trim().to_lowercase();
        let setup = self.whole.setup.as_ref()?;
        let factor = factor_between(setup, self.from, self.from, self.fuel.as_ref());
        let told_apart = factor.is_ok_and(|factor| (factor - 1.0).abs() > 1e-6);
        (!same_name && !told_apart).then(|| {
            format!(
                "Of the fuel {} only the name tells it from {}: its density and its ratio of air to fuel are taken as the same. An alcohol wants half as much again and more: do not run one on these jets; write fuel.density and fuel.stoichiometric_ratio down first.",
                visible(after),
                visible(before)
            )
        })
    }

    /// The bike's last run, where it seized on another combination: what the two share may be the cause.
    pub(super) fn seized_elsewhere(&self) -> Option<String> {
        if let Some(words) = &self.holds.engine_seized {
            return Some(words.clone());
        }
        let last = self.book.outings(&self.baseline.bike).ok()?.pop()?;
        let seized = lean_sign(&last.outing).filter(|sign| sign.is_seizure() && !last.outing.is_closed())?;
        let held = self.holds.holds.iter().any(|hold| hold.outing.id == last.id);
        (!held).then(|| {
            format!(
                "The last run of this bike {} ({}), on another combination. Jets, fuel, spark and air filter may be the cause: find out why before anything is run.",
                visible(seized.word()),
                last.outing.date.short()
            )
        })
    }

    /// Refuses an answer where the bike's injection is another one than that which the answer stands on, but for a field.
    pub(super) fn require_the_same_injection(&self, but_for: Option<&str>) -> Result<(), Trouble> {
        let moved_on = record::moved_on(&self.whole.fields, &self.now.fields);
        let other = |field: &&String| section_of(field) == "injection" && Some(field.as_str()) != but_for;
        moved_on.iter().find(other).map_or(Ok(()), |field| Err(self.another_injection(field)))
    }

    /// What the bike has in a field, and what the baseline had there.
    pub(super) fn has_and_had(&self, field: &str) -> String {
        has_and_had(field, self.baseline.number, (&self.whole.fields, &self.now.fields))
    }

    /// The refusal where the bike's injection is another one than that which the answer stands on.
    pub(super) fn another_injection(&self, field: &str) -> Trouble {
        let (bike, number) = (&self.baseline.bike, self.baseline.number);
        let lean = self.holds.holds.iter().find(|hold| !hold.mended).map(|hold| {
            format!(
                "The run of {} was lean or seized (\"{}\"): nothing leaner than it, and do not run it before that is looked into. ",
                hold.outing.outing.date.short(),
                visible(&hold.words)
            )
        });
        let help = match lean {
            None => format!(
                "Put setup {number} back with `reedbook rollback {bike} {number}`, or run what is on the bike, start rich, and log it: the answer stands on it once it was right."
            ),
            Some(_) => format!(
                "Put the map of setup {number} back without running it: `reedbook rollback {bike} {number} --only injection --despite \"for the map, not run\"`. Then ask again, and set the trim that is answered."
            ),
        };
        Trouble::request(
            Some(field),
            format!(
                "{}The bike has {}: a trim reckoned from setup {number}, the newest that was right, would be for that one.",
                lean.unwrap_or_default(),
                self.has_and_had(field)
            ),
            help,
        )
    }

    /// How much of a card or a plan is theory and how much record, and what is said of a newest run that the record cannot explain;
    /// `greatest` is the greatest risk of lean in it.
    pub(super) fn record_words(
        &self,
        adviser: &Adviser,
        evidence: Option<&Evidence>,
        greatest: Option<f64>,
    ) -> Result<(String, Option<String>), Trouble> {
        let advised = adviser.advise(&self.unchanged()?, &self.floors(&self.from)?)?;
        let report = RecordReport {
            learned: advised.learned.as_ref(),
            adviser,
            evidence,
            theory: None,
            foretold: None,
            injected: advised.rejet.injection.is_some(),
            is_held: !self.holds.is_empty(),
        };
        let record = RecordAnswer::new(report, &advised.rejet);
        Ok((record.in_short(greatest), record.surprise()))
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

fn air_not_known(garage: &Garage, baseline: &SetupRecord) -> Trouble {
    let (bike, number) = (&baseline.bike, baseline.number);
    let is_marked = garage.bike(bike).is_ok_and(|bike| bike.proven.contains_key(&baseline.id));
    let give = "give --baseline-air \"temp=20 C; baro=1008 hPa; humidity=55\"";
    // A mark is for a setup that was right: who only names one is not asked for it.
    let help = if is_marked {
        format!("Mark it: `reedbook proven {bike} {number} --temp … --baro … --humidity …`, or {give}.")
    } else {
        format!("If it was right, {give}.")
    };
    Trouble::request(
        Some("baseline_air"),
        format!("The air that setup {number} was right in is not known."),
        help,
    )
}
