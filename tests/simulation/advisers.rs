//! Advisers: each names a jet of the box for a day, from what is known of the bike and its runs.

use reedbook::advice::learning::verdicts::Judged;

use super::learned::Learned;
use super::season::{Day, Known, Outing, Size};

/// What is advised.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Advice {
    /// Place of the jet in the box.
    pub(crate) size: usize,
    /// The chance that the run will be lean, where the adviser gives one.
    pub(crate) foretold_lean: Option<f64>,
}

impl From<usize> for Advice {
    fn from(size: usize) -> Self {
        Self { size, foretold_lean: None }
    }
}

/// Someone who says what to fit. He is asked once a day, in order, before the run.
pub(crate) trait Adviser {
    /// What to fit today. `history` begins with the two runs from which the baseline is proven, and its newest run is the
    /// last; `jets` is the box, and `on_bike` the place in it of the jet that is fitted now.
    fn advise(&mut self, today: &Day, history: &[Outing], jets: &[Size], on_bike: usize) -> Advice;
}

/// An adviser by name.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Contender {
    /// In words, as in a table.
    pub(crate) name: &'static str,
    /// Whether he is one of the rules that the program is held against.
    pub(crate) is_rule: bool,
    /// Makes one for a bike.
    pub(crate) new: fn(&Known) -> Box<dyn Adviser>,
}

/// Everyone, the program's model first.
pub(crate) const CONTENDERS: [Contender; 7] = [
    Contender { name: "learned", is_rule: false, new: |known| Box::new(Learned::new(known)) },
    Contender { name: "theory", is_rule: true, new: |_| Box::new(Theory { sizes_richer: 0 }) },
    Contender {
        name: "theory, one size richer",
        is_rule: true,
        new: |_| Box::new(Theory { sizes_richer: 1 }),
    },
    Contender { name: "staying put", is_rule: true, new: |_| Box::new(StayingPut) },
    Contender { name: "rule of thumb", is_rule: true, new: |_| Box::new(RuleOfThumb) },
    Contender { name: "nearest air", is_rule: true, new: |_| Box::new(NearestAir) },
    Contender { name: "nearest air with theory", is_rule: true, new: |_| Box::new(NearestAirWithTheory) },
];

/// Place of the smallest jet that delivers at least so much, ln; the largest where none does.
pub(crate) fn least(jets: &[Size], delivered: f64) -> usize {
    // The proven jet itself must not be lost to the last digit.
    jets.iter().position(|size| size.delivered >= delivered - 1e-9).unwrap_or(jets.len() - 1)
}

/// The jet so many sizes richer, as far as the box goes.
pub(crate) fn richer(jets: &[Size], size: usize, sizes: isize) -> usize {
    size.saturating_add_signed(sizes).min(jets.len() - 1)
}

/// The smallest jet not leaner than the proven one times K, and so many sizes more.
struct Theory {
    sizes_richer: isize,
}

impl Adviser for Theory {
    fn advise(&mut self, today: &Day, _: &[Outing], jets: &[Size], _: usize) -> Advice {
        richer(jets, least(jets, today.wanted), self.sizes_richer).into()
    }
}

/// The proven jet on every day.
struct StayingPut;

impl Adviser for StayingPut {
    fn advise(&mut self, _: &Day, history: &[Outing], _: &[Size], _: usize) -> Advice {
        history[0].size.into()
    }
}

/// Half of theory's change, as riders do who go one size where theory says two (common practice, no source).
struct RuleOfThumb;

impl Adviser for RuleOfThumb {
    fn advise(&mut self, today: &Day, _: &[Outing], jets: &[Size], _: usize) -> Advice {
        least(jets, 0.5 * today.wanted).into()
    }
}

/// The jet of the run in the air most like today's, moved by what was said of it: one size for slightly, two for clearly.
struct NearestAir;

impl Adviser for NearestAir {
    fn advise(&mut self, today: &Day, history: &[Outing], jets: &[Size], _: usize) -> Advice {
        let nearest = nearest(history, today, |_| true).expect("the baseline was ridden");
        let sizes = match nearest.judged {
            Judged::Lean => 2,
            Judged::SlightlyLean => 1,
            Judged::Right => 0,
            Judged::SlightlyRich => -1,
            Judged::Rich => -2,
        };
        richer(jets, nearest.size, sizes).into()
    }
}

/// From the run that was right in the air most like today's: its fuel times K between the two airs.
struct NearestAirWithTheory;

impl Adviser for NearestAirWithTheory {
    fn advise(&mut self, today: &Day, history: &[Outing], jets: &[Size], _: usize) -> Advice {
        let was_right = |outing: &Outing| outing.judged == Judged::Right;
        let nearest = nearest(history, today, was_right).expect("the baseline was right");
        least(jets, nearest.delivered + today.wanted - nearest.wanted).into()
    }
}

/// The newest of the runs in the air most like today's, among those of the engine that is in the bike; where it has none
/// such, among all.
fn nearest(history: &[Outing], today: &Day, counts: impl Fn(&Outing) -> bool) -> Option<Outing> {
    let among = |own: bool| {
        let off = |outing: &Outing| (outing.wanted - today.wanted).abs();
        let eligible =
            history.iter().filter(|outing| counts(outing) && (!own || outing.engine == today.engine));
        eligible.rev().min_by(|a, b| off(a).total_cmp(&off(b))).copied()
    };
    among(true).or_else(|| among(false))
}
