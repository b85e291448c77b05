//! What was cut in metal on the side that is not kept: a choice on paper puts no metal back, so it stays, as it does when an earlier
//! setup is put back.

use super::setups::{BikeSides, Keep, as_typed};
use crate::notebook::editing::assign::apply;
use crate::notebook::restoring::plan::{is_metal, plan};
use crate::notebook::{
    Assignment, DocumentKind, EditOptions, FieldSet, RestoreRequest, SetupFiles, Value, compare,
};
use crate::store::error::StoreError;
use crate::store::folder::garage::Garage;
use crate::store::share::setups::{Chosen, KeptMetal};

impl Chosen {
    /// Whether what holds is a setup that neither side ran: of both, or of one with what the other cut in metal.
    pub(super) fn is_combined(&self) -> bool {
        self.keep == Keep::Both || self.metal.iter().any(|metal| metal.other.is_none())
    }
}

/// Where a side stands among base, ours and theirs.
fn place_of(keep: Keep) -> usize {
    if keep == Keep::Ours { 1 } else { 2 }
}

impl BikeSides {
    /// The files of the side that is kept, with what the other one cut in metal; and what that is.
    pub(super) fn kept(
        &self,
        garage: &Garage,
        keep: Keep,
    ) -> Result<(SetupFiles, Vec<KeptMetal>), StoreError> {
        let side = place_of(keep);
        let files = self.files[side].clone();
        let cut = self.cut_on_the_other(garage, side)?;
        let mut metal: Vec<KeptMetal> = cut
            .iter()
            .map(|(field, value)| KeptMetal { field: field.clone(), holds: value.text(), other: None })
            .collect();
        metal.extend(self.cut_on_both(side));
        if cut.is_empty() {
            return Ok((files, metal));
        }
        let assignments: Vec<Assignment> = cut
            .into_iter()
            .map(|(field, value)| Assignment { field, at: None, value: as_typed(Some(&value)) })
            .collect();
        let options = EditOptions { insert: false, refuse_bare_lengths: garage.is_imperial() };
        Ok((apply(&files, &assignments, options)?, metal))
    }

    /// The fields that stay, whichever side is kept.
    pub(super) fn metal_of_either(&self, garage: &Garage) -> Result<Vec<String>, StoreError> {
        let mut fields = Vec::new();
        for side in [1, 2] {
            fields.extend(self.cut_on_the_other(garage, side)?.into_iter().map(|(field, _)| field));
        }
        Ok(fields)
    }

    /// What the side that is not kept cut since both were one, and what going over to the kept side does not bring back.
    fn cut_on_the_other(&self, garage: &Garage, side: usize) -> Result<Vec<(String, Value)>, StoreError> {
        let (base, kept, others) = (&self.fields[0], &self.fields[side], &self.fields[3 - side]);
        // The engine that goes in was not cut; the other one's file keeps what is written in it.
        let one_engine = kept.text("engine") == others.text("engine");
        let mut cut: Vec<(String, Value)> = compare(base, others)
            .changes
            .into_iter()
            .filter(|change| is_metal(&change.field) && same(kept, base, &change.field))
            .filter(|change| one_engine || !is_of_an_engine(others, &change.field))
            .filter_map(|change| Some((change.field, change.new?)))
            .collect();
        if cut.is_empty() {
            return Ok(cut);
        }
        let now = garage.combination(&self.files[3 - side]);
        let target = garage.combination(&self.files[side]);
        let back = plan(&now, &target, &RestoreRequest::default())?;
        cut.retain(|(field, _)| back.applied.iter().all(|change| change.field != *field));
        Ok(cut)
    }

    /// What both sides cut, each to another size.
    fn cut_on_both(&self, side: usize) -> Vec<KeptMetal> {
        let (base, kept, others) = (&self.fields[0], &self.fields[side], &self.fields[3 - side]);
        let changed = compare(base, others).changes.into_iter();
        let both = changed.filter(|change| {
            let field = &change.field;
            is_metal(field) && !same(kept, base, field) && !same(kept, others, field)
        });
        both.filter_map(|change| {
            let (holds, other) = (kept.get(&change.field)?.text(), change.new?.text());
            Some(KeptMetal { field: change.field, holds, other: Some(other) })
        })
        .collect()
    }
}

fn same(one: &FieldSet, other: &FieldSet, field: &str) -> bool {
    match (one.get(field), other.get(field)) {
        (None, None) => true,
        (Some(one), Some(other)) => one.same_as(other),
        _ => false,
    }
}

fn is_of_an_engine(fields: &FieldSet, field: &str) -> bool {
    fields.entry(field).is_some_and(|entry| entry.document == DocumentKind::Engine)
}
