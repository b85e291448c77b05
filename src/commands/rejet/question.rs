//! What is asked, with all that an answer needs: the setup that was right, its air, the tables and the bike's record.

use crate::advice::learning::{Adviser, Baseline, Evidence, Settings, gather};
use crate::advice::record;
use crate::advice::rejet::{RejetRequest, delivered_at};
use crate::air::{Air, Uncertainty};
use crate::notebook::{
    AirEntry, AirEntryError, Combination, FieldSet, Fuel, JetBox, NeedleBox, OwnBox, Setup, Shares, When,
    section_of,
};
use crate::report::{RecordReport, Trouble};
use crate::store::{Book, Garage, SetupRecord};

/// The question.
pub(super) struct Question<'g> {
    pub(super) garage: &'g Garage,
    pub(super) book: &'g Book<'g>,
    /// The setup that was right.
    pub(super) baseline: SetupRecord,
    pub(super) whole: Combination,
    /// The air it was right in, and where that is from.
    pub(super) baseline_air: (AirEntry, String),
    from: Air,
    /// Whether the baseline is marked proven in that air.
    vouched_for: bool,
    from_doubt: Uncertainty,
    /// The day on which it is asked.
    today: When,
    /// What changes about the fuel.
    pub(super) fuel: Option<Fuel>,
    jets: JetBox,
    needles: NeedleBox,
    shares: Shares,
    own_box: Option<OwnBox>,
}

impl<'g> Question<'g> {
    pub(super) fn new(
        garage: &'g Garage,
        book: &'g Book<'g>,
        baseline: SetupRecord,
        baseline_air: (AirEntry, String),
        fuel: Option<Fuel>,
        today: When,
    ) -> Result<Self, Trouble> {
        let whole = book.combination(&baseline.bike, Some(&baseline))?;
        if whole.setup.is_none() || !whole.findings.is_empty() {
            return Err(Trouble::findings(whole.findings));
        }
        let reading = baseline_air.0.reading()?;
        let bike = garage.bike(&baseline.bike)?;
        let mark = bike.proven.get(&baseline.id).and_then(|mark| mark.air.as_ref());
        Ok(Self {
            vouched_for: mark.is_some_and(|air| air.line() == baseline_air.0.line()),
            from: baseline_air.0.air()?,
            from_doubt: reading.uncertainty().map_err(AirEntryError::from)?,
            jets: garage.jets()?,
            needles: garage.needles()?,
            shares: garage.shares()?,
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
            fuel: self.fuel.as_ref(),
            own_box: self.own_box.as_ref(),
            ..RejetRequest::new(self.setup()?, self.from, air, &self.jets, &self.needles, &self.shares)
        })
    }

    /// The air of the baseline again: the request for it shows what is on the bike.
    pub(super) fn unchanged(&self) -> Result<RejetRequest<'_>, Trouble> {
        let mut request = self.request(self.from, None)?;
        request.fuel = None;
        Ok(request)
    }

    /// The bike's outings as they speak of this baseline.
    pub(super) fn evidence(&self, settings: &Settings) -> Result<Evidence, Trouble> {
        let baseline = Baseline {
            record: &self.baseline,
            whole: &self.whole,
            air: self.from,
            vouched_for: self.vouched_for,
            today: self.today,
            jets: &self.jets,
            needles: &self.needles,
            shares: &self.shares,
        };
        Ok(gather(self.book, &baseline, settings)?)
    }

    /// Theory, with the record where there is one.
    pub(super) fn adviser(
        &self,
        evidence: Option<&Evidence>,
        settings: &Settings,
    ) -> Result<Adviser, Trouble> {
        let none = Evidence::default();
        Ok(Adviser::new(&self.unchanged()?, evidence.unwrap_or(&none), settings)?)
    }

    /// The first field of carburetor, injection or fuel in which the bike differs from the baseline, of those that the advice does not
    /// set: the advice cannot be recorded then.
    pub(super) fn other_metering<'f>(&self, moved_on: &'f [String]) -> Option<&'f str> {
        let asked_for = self.fuel.is_some();
        let of_metering = |field: &&String| match section_of(field) {
            "jetting" | "injection" => true,
            "fuel" => !asked_for,
            _ => false,
        };
        moved_on.iter().find(of_metering).map(String::as_str)
    }

    /// Fuel that another setup passes at a zone over what this one passes, where that can be said.
    pub(super) fn delivered(&self, setup: &Setup, other: &Setup, zone: &str) -> Option<f64> {
        let zones = delivered_at(setup, other, &self.jets, &self.needles, &self.shares);
        zones.into_iter().find(|(name, _)| *name == zone)?.1.ok()
    }

    /// The needle that the baseline names.
    pub(super) fn needle(&self) -> Option<&str> {
        self.whole.fields.text("jetting.needle")
    }

    /// What differs on the bike from the baseline, in words.
    pub(super) fn moved_on(&self, now: &FieldSet) -> Option<String> {
        moved_on_words(self.baseline.number, &record::moved_on(&self.whole.fields, now))
    }

    /// How much of a card or a plan is theory and how much record.
    pub(super) fn record_words(
        &self,
        adviser: &Adviser,
        evidence: Option<&Evidence>,
    ) -> Result<String, Trouble> {
        let advised = adviser.advise(&self.unchanged()?)?;
        let report = RecordReport {
            learned: advised.learned.as_ref(),
            adviser,
            evidence,
            theory: None,
            foretold: None,
            injected: advised.rejet.injection.is_some(),
        };
        Ok(report.in_short())
    }
}

/// What differs on the bike from the baseline, in words.
fn moved_on_words(baseline: u32, moved_on: &[String]) -> Option<String> {
    (!moved_on.is_empty()).then(|| {
        format!(
            "This is for setup {baseline}, not for the bike as it stands. On the bike now these differ: {}.",
            moved_on.join(", ")
        )
    })
}
