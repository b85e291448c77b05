//! A step of an engine with several cylinders, judged at each of them by its own setup and its own runs.

use super::judge::{Judgement, Proposal, Refusal, Told, judge};
use crate::notebook::Combination;
use crate::notebook::fields::cylinder::can_be_own;
use crate::store::{Book, StoreError};

/// As [`judge`], at each cylinder where there are several: what is to be said of all of them is said once, the rest with the name.
pub fn judge_each(book: &Book<'_>, proposal: &Proposal<'_>) -> Result<Judgement, StoreError> {
    let mut names = proposal.after.fields.cylinders();
    if names.is_empty() {
        return judge(book, proposal);
    }
    // A cylinder that is named anew has what was written for all.
    names.dedup();
    let mut all = Vec::new();
    for name in &names {
        let at = |whole: &Combination| whole.for_cylinder(name);
        let (before, after) = (proposal.before.map(at), at(proposal.after));
        let own = Proposal { before: before.as_ref(), after: &after, ..*proposal };
        all.push((name.as_str(), judge(&book.for_cylinder(name), &own)?));
    }
    Ok(together(&all))
}

fn together(all: &[(&str, Judgement)]) -> Judgement {
    let mut whole = Judgement::default();
    for (name, one) in all {
        for told in &one.told {
            let of_all = all.iter().all(|(_, other)| other.told.contains(told));
            let told =
                if of_all { told.clone() } else { Told { sentence: at(name, &told.sentence), ..*told } };
            if !whole.told.contains(&told) {
                whole.told.push(told);
            }
        }
        for refusal in &one.refused {
            let of_all = all.iter().all(|(_, other)| other.refused.contains(refusal));
            let own = can_be_own(&refusal.field) && !of_all;
            let refusal = Refusal {
                field: if own { format!("{name}.{}", refusal.field) } else { refusal.field.clone() },
                sentence: if of_all { refusal.sentence.clone() } else { at(name, &refusal.sentence) },
                by_a_run: refusal.by_a_run.clone(),
            };
            if !whole.refused.contains(&refusal) {
                whole.refused.push(refusal);
            }
        }
        if whole.way_out.is_empty() {
            whole.way_out.clone_from(&one.way_out);
        }
        whole.is_held |= one.is_held;
    }
    // What must not be run comes first.
    whole.told.sort_by_key(|told| !told.urgent);
    whole
}

fn at(name: &str, sentence: &str) -> String {
    format!("Cylinder {name}: {sentence}")
}
