//! What the bike's record has to say before a change is recorded: shared by all commands that record one.

use std::cell::RefCell;

use clap::Args;

use crate::advice::conditions::kept::serve;
use crate::advice::held::{Judgement, Proposal, Refusal, Told, judge_back, judge_each};
use crate::notebook::guidance::Guidance;
use crate::report::Trouble;
use crate::store::{Garage, Proposed, StoreError, outings_edited_by_hand};

/// Recording a step that the bike's own runs speak against.
#[derive(Debug, Clone, Default, Args)]
pub(in crate::commands) struct Despite {
    /// Record it although a run or a rule forbids it
    #[arg(long, value_name = "WHY")]
    despite: Option<String>,
}

impl Despite {
    /// Whether a reason is given.
    pub(in crate::commands) fn is_given(&self) -> bool {
        self.despite.as_ref().is_some_and(|why| !why.trim().is_empty())
    }

    /// The guard with this reason; `back` where an earlier setup is put back. All runs count, whatever day the change is
    /// given: it is recorded for the bike as it stands.
    pub(in crate::commands) fn guard(&self, back: bool) -> Result<Guard, Trouble> {
        if self.despite.as_ref().is_some_and(|why| why.trim().is_empty()) {
            return Err(Trouble::request(
                Some("despite"),
                "The reason is empty.",
                "Say why in a few words: --despite \"the crank seal leaked and is new\".",
            ));
        }
        Ok(Guard {
            despite: self.despite.clone(),
            back,
            advised: false,
            against: Vec::new(),
            edited: None,
            judgement: RefCell::default(),
        })
    }
}

/// Judges a step before it is recorded, and keeps what is to be said of it.
pub(in crate::commands) struct Guard {
    despite: Option<String>,
    back: bool,
    advised: bool,
    against: Vec<String>,
    edited: Option<String>,
    judgement: RefCell<Judgement>,
}

impl Guard {
    /// The same with what is to be said of a bike's outings that were edited by hand: with the step they are taken in as they stand.
    pub(in crate::commands) fn of(self, garage: &Garage, bike: &str) -> Result<Self, StoreError> {
        Ok(Self { edited: outings_edited_by_hand(garage, bike)?, ..self })
    }

    /// The same with what speaks against any such step, whatever the bike's own runs say.
    pub(in crate::commands) fn against(self, against: Vec<String>) -> Self {
        Self { against, ..self }
    }

    /// The same of what was worked out from the bike's record for the air that it is recorded with.
    pub(in crate::commands) fn advised(self) -> Self {
        Self { advised: true, ..self }
    }

    /// Fails where the step is not to be recorded; gives the reason where it is all the same.
    pub(in crate::commands) fn check(
        &self,
        proposed: &Proposed<'_, '_>,
    ) -> Result<Option<String>, StoreError> {
        let air = proposed.air.and_then(|air| air.air().ok());
        let kept = if air.is_none() { Some(serve(proposed.book, None, None, proposed.date)?) } else { None };
        let proposal = Proposal {
            bike: proposed.bike,
            before: proposed.before,
            after: proposed.after,
            air: air.as_ref(),
            back: self.back,
            advised: self.advised,
            kept: kept.as_ref(),
            moves_nothing: false,
        };
        let judge = if self.back { judge_back } else { judge_each };
        let mut judgement = judge(proposed.book, &proposal)?;
        // The air that is kept allows no step, for nobody typed it for this one; but it may forbid one.
        if let Some(kept) = kept.as_ref().filter(|_| judgement.refused.is_empty()) {
            let air = kept.entry.as_ref().and_then(|air| air.air().ok());
            let in_it = air.map(|air| judge(proposed.book, &Proposal { air: Some(&air), ..proposal }));
            if let Some(mut in_it) = in_it.transpose()?.filter(|in_it| !in_it.refused.is_empty()) {
                let whose = kept
                    .origin
                    .as_ref()
                    .map(crate::advice::conditions::kept::Origin::words)
                    .unwrap_or_default();
                if let Some(first) = in_it.refused.first_mut() {
                    first.sentence = first.sentence.clone() + format!(" That is for the {whose}.");
                }
                judgement = in_it;
            }
        }
        if !self.against.is_empty() {
            let refusal = |sentence: &String| Refusal::of("despite", sentence.clone());
            judgement.refused.splice(0..0, self.against.iter().map(refusal));
            if judgement.way_out.is_empty() {
                judgement.way_out = Guidance::from(
                    "Ask for one that was right, or set what you want of it richer by hand; or say why it is taken in all the same: --despite \"…\".",
                );
            }
        }
        // What was recorded of a run may have forbidden this.
        judgement.told.splice(0..0, self.edited.clone().map(Told::stop));
        let despite = judgement.allow(self.despite.as_deref())?;
        *self.judgement.borrow_mut() = judgement;
        Ok(despite)
    }

    /// What is to be said of the step that was recorded.
    pub(in crate::commands) fn judgement(self) -> Judgement {
        self.judgement.into_inner()
    }
}
