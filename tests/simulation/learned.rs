//! The program's model as an adviser: the one place in which the seasons call it.

use reedbook::advice::learning::choice::{Candidate, Rule, choose, earned, liking, price};
use reedbook::advice::learning::posterior::{Belief, Posterior, Prior};
use reedbook::advice::learning::verdicts::{Judged, KINDS, Spoken};
use reedbook::advice::learning::{Settings, Trust};

use super::advisers::{Advice, Adviser, least};
use super::season::{Day, Known, Outing, Size};

/// Days between two race days, about.
const DAYS_BETWEEN: f64 = 10.0;

/// What the program would fit at full throttle.
pub(crate) struct Learned {
    settings: Settings,
}

impl Learned {
    /// For a bike of which so much is known.
    pub(crate) fn new(_: &Known) -> Self {
        Self { settings: Settings::default() }
    }

    fn prior(&self, today: &Day) -> Prior {
        Prior {
            spreads: self.settings.spreads,
            today: today.doubt.max(0.004),
            ..Prior::new(Belief { mean: 0.0, sd: 0.05 / 1.3 }, Belief { mean: 1.0, sd: 0.19 })
        }
    }
}

/// The record as the model takes it.
fn spoken(history: &[Outing], today: &Day) -> Vec<Spoken> {
    let day = |outing: &Outing| outing.day.map_or(0, |day| day + 1);
    let newest = history.last().map_or(0, day);
    history
        .iter()
        // What was found and mended speaks of that, and not of the jetting.
        .filter(|outing| !(outing.closed && matches!(outing.judged, Judged::Lean | Judged::SlightlyLean)))
        .map(|outing| {
            #[allow(clippy::cast_precision_loss, reason = "some days")]
            let since = (newest - day(outing)) as f64;
            let mut ran = [0; KINDS];
            // Another engine differs in its name and in what it is inside.
            if outing.engine != today.engine {
                (ran[0], ran[1]) = (1, 1);
            }
            Spoken {
                ran,
                days: DAYS_BETWEEN * since,
                running_days: since,
                doubt: outing.doubt.max(0.004),
                ..Spoken::plain(outing.delivered, outing.wanted, outing.judged)
            }
        })
        .collect()
}

impl Adviser for Learned {
    fn advise(&mut self, today: &Day, history: &[Outing], jets: &[Size], on_bike: usize) -> Advice {
        let spoken = spoken(history, today);
        let learned = Posterior::new(&self.prior(today), &spoken).expect("a record that a rider could leave");
        let own = spoken.iter().enumerate().filter(|(_, run)| run.ran == [0; KINDS]);
        let trust = Trust::of(own.map(|(at, run)| (run.judged, learned.foretold(at))));
        let sizes: Vec<Candidate> =
            jets.iter().map(|jet| Candidate { size: jet.number, delivered: jet.delivered.exp() }).collect();
        let theory = jets[least(jets, today.wanted)].number;
        let least_earned = earned(&trust, &sizes, Some(theory)).map_or(0.0, |size| size.delivered);
        let floor = held(history, today, jets);
        let rule = Rule {
            limit: self.settings.lean_risk,
            liking: liking(trust.verdicts),
            costs: self.settings.costs,
            on_the_bike: Some(jets[on_bike].number),
            least: least_earned.max(floor),
            is_held: floor > 0.0,
        };
        let priced = price(&learned, &sizes, today.wanted, &rule);
        let size = choose(&priced)
            .and_then(|chosen| {
                sizes.iter().position(|size| size.size.total_cmp(&chosen.candidate.size).is_eq())
            })
            .unwrap_or(jets.len() - 1);
        let chances = learned.chances(jets[size].delivered, today.wanted);
        Advice { size, foretold_lean: Some(chances.lean) }
    }
}

/// The least fuel after the newest lean run of the engine that is in the bike: a size more than it had, two after a seizure, for
/// today's air, until a later run with at least that much was right or rich, or its cause is written down.
fn held(history: &[Outing], today: &Day, jets: &[Size]) -> f64 {
    let mut least: f64 = 0.0;
    let own: Vec<&Outing> = history.iter().filter(|outing| outing.engine == today.engine).collect();
    for (at, outing) in own.iter().enumerate() {
        let lean = outing.seized || matches!(outing.judged, Judged::Lean | Judged::SlightlyLean);
        let rich_for_its_air = |run: &Outing| run.delivered - run.wanted;
        let answered = own[at + 1..].iter().any(|later| {
            !matches!(later.judged, Judged::Lean | Judged::SlightlyLean)
                && rich_for_its_air(later) >= rich_for_its_air(outing) - 1e-9
        });
        if lean && !outing.closed && !answered {
            let sizes = if outing.seized { 2 } else { 1 };
            let more = jets[(outing.size + sizes).min(jets.len() - 1)].delivered;
            least = least.max((more + (today.wanted - outing.wanted)).exp());
        }
    }
    // No more than the box holds.
    least.min(jets[jets.len() - 1].delivered.exp())
}
