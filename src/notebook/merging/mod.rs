//! One document that two sides changed, each on its own: brought together by field, by value and not by line.

mod document;
mod map;

pub use document::{
    BothChanged, MergedDocument, merge_documents, merge_documents_but, same_values, written_values,
};
pub use map::merge_maps;
