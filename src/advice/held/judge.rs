//! What a proposed step is told, and why it is refused: by what it does, and by the runs that hold.

use super::beside::{lean_when_last_judged, opened_beside};
use super::combination::other_combination;
use super::harms::Trade;
use super::holds::{Holds, holds};
use super::proposal::{Proposal, Shelf};
use super::ran::{filled_in, judged_open, ran_like, require_lean_runs_placed, to_count_from};
use super::refused::case::Case;
use super::said::Judgement;
use super::step::Step;
use crate::store::{Book, StoreError, require_every_outing};

/// Judges a step by all of the bike's record, whatever day it is given: it is done to the bike as it stands.
pub fn judge(book: &Book<'_>, proposal: &Proposal<'_>) -> Result<Judgement, StoreError> {
    let shelf = Shelf::of(book, proposal.bike)?;
    let tables = shelf.tables();
    let filled = filled_in(book, proposal)?;
    let before = filled.as_ref().or(proposal.before).unwrap_or(proposal.after);
    let (ran, engine_ran) = to_count_from(book, proposal.bike, proposal.after)?;
    let mut step = Step::between(before, proposal.after, &tables);
    if engine_ran {
        step = step.counted_by_its_own_runs();
    }
    // Whatever a new bike's first setup names goes into it now.
    step.other_engine |= proposal.before.is_none();
    // What is put back and never ran is a change like any other.
    let never_ran = proposal.back && !ran_like(book, proposal.bike, proposal.after)?;
    let proposal = &Proposal { back: proposal.back && !never_ran, ..*proposal };
    let mut case = Case {
        step,
        since_run: None,
        held_before: Vec::new(),
        engine_was_elsewhere: false,
        lean_beside: None,
        opened_beside: None,
        besides: Vec::new(),
        holds: Holds::default(),
        proposal,
        before,
        tables,
        trade: Trade::of(book, proposal.after)?,
    };
    let engine = proposal.after.fields.text("engine").unwrap_or_default();
    let holder = book.engine_holders()?.remove(engine).map(|(bike, _)| bike);
    case.engine_was_elsewhere = holder.is_some_and(|holder| holder != proposal.bike);
    // What turns no jet, no screw and no spark is not held against any run.
    if !case.touches_what_can_hurt() && !case.engine_was_elsewhere {
        return Ok(Judgement::default());
    }
    // What cannot be read may forbid the step: no reason of its own makes it known. What is only richer is not kept back by it.
    let can_hurt = !case.step.is_harmless() || case.step.other_engine || case.is_blind();
    if can_hurt {
        require_every_outing(book, proposal.bike)?;
        require_lean_runs_placed(book, proposal.bike)?;
    }
    let found = holds(book, proposal.bike, proposal.after, &case.tables);
    case.holds = if can_hurt { found? } else { found.unwrap_or_default() };
    if !other_combination(&before.fields, &proposal.after.fields).is_empty() {
        case.held_before = holds(book, proposal.bike, before, &case.tables)?.holds;
    }
    let since = ran.map(|(number, ran)| (number, Step::between(&ran, proposal.after, &case.tables)));
    case.since_run = since.filter(|(_, step)| !(engine_ran && step.other_engine));
    // A verdict at idle shows no plug: main jet and spark count from the last one that was given with the throttle open.
    if let Some((number, open)) = judged_open(book, proposal.bike, proposal.after)?.filter(|_| !proposal.back)
    {
        let step = Step::between(&open, proposal.after, &case.tables).with_the_throttle_open();
        let (sizes, earlier) = case.since_run.as_ref().map_or_else(
            || (case.step.sizes(), case.step.earlier_deg),
            |(_, since)| (since.sizes(), since.earlier_deg),
        );
        let kinds = case.since_run.as_ref().map_or(0, |(_, since)| since.kinds().len());
        if step.sizes() > sizes || step.earlier_deg > earlier + 1e-6 || step.kinds().len() > kinds.max(1) {
            case.since_run = Some((number, step));
        }
    }
    case.lean_beside = lean_when_last_judged(book, proposal.bike)?;
    case.opened_beside = opened_beside(book, proposal.bike)?;
    case.besides = case.not_run_before(never_ran, engine_ran);
    let mut judgement = case.judgement();
    let by_air = case.denser_air_than_it_was_right_in(book)?;
    let by_record = by_air.into_iter().chain(case.not_judged_at_full(book)?);
    for (refusal, way_out) in by_record.chain(case.before_its_first_run(book, engine_ran)?) {
        if judgement.refused.is_empty() {
            judgement.way_out = way_out;
        }
        judgement.refused.push(refusal);
    }
    Ok(judgement)
}
