//! Longer texts compared: by line, with the words that changed marked, and only as much around them as is needed to find
//! the place. The line and word matching is Myers' (crate `similar`).

use std::ops::Range;

use similar::{ChangeTag, DiffOp, DiffTag, TextDiff};

use crate::notebook::fields::order::section_of;

/// Letters from which a text is read line by line rather than as one old and one new value.
const LONG: usize = 40;

/// Lines kept on either side of a change.
const AROUND: usize = 1;

/// Share of the words that must have been kept for marks to help; below, everything is new anyway. Own choice, no source.
const ALIKE: f64 = 0.3;

/// What happened to a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProseSign {
    /// It stands in both.
    Kept,
    /// It stands in the older text only.
    Removed,
    /// It stands in the newer text only.
    Added,
    /// Lines that stand in both were left out here.
    Gap,
}

/// One line of a comparison of two texts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProseLine {
    /// What happened to it.
    pub sign: ProseSign,
    /// The line without its end. Untrusted text, exactly as it stands in the document.
    pub text: String,
    /// The words that changed, as byte ranges of `text`; none where the whole line is new or gone.
    pub marked: Vec<Range<usize>>,
}

/// Whether two texts are compared line by line.
pub(super) fn is_prose(field: &str, old: &str, new: &str) -> bool {
    let long = |text: &str| text.trim_end().contains('\n') || text.chars().count() > LONG;
    section_of(field) == "notes" || long(old) || long(new)
}

/// Compares two texts.
pub(super) fn prose(old: &str, new: &str) -> Vec<ProseLine> {
    let (old, new) = (with_end(old), with_end(new));
    let diff = TextDiff::from_lines(old.as_str(), new.as_str());
    let mut lines = Vec::new();
    for (index, group) in diff.grouped_ops(AROUND).iter().enumerate() {
        if index > 0 {
            lines.push(plain(ProseSign::Gap, ""));
        }
        for op in group {
            show(&diff, op, &mut lines);
        }
    }
    lines
}

/// Two texts that differ only in how their lines end, or whether the last one does, are one text.
fn with_end(text: &str) -> String {
    let text = text.trim_end().replace("\r\n", "\n");
    if text.is_empty() { String::new() } else { format!("{text}\n") }
}

fn show(diff: &TextDiff<'_, '_, str>, op: &DiffOp, lines: &mut Vec<ProseLine>) {
    if op.tag() == DiffTag::Replace {
        let block = |range: Range<usize>, slice: &dyn Fn(usize) -> Option<String>| -> String {
            range.filter_map(slice).collect()
        };
        let old = block(op.old_range(), &|at| diff.old_slice(at).map(str::to_owned));
        let new = block(op.new_range(), &|at| diff.new_slice(at).map(str::to_owned));
        lines.extend(replaced(&old, &new));
        return;
    }
    for change in diff.iter_changes(op) {
        let sign = match change.tag() {
            ChangeTag::Equal => ProseSign::Kept,
            ChangeTag::Delete => ProseSign::Removed,
            ChangeTag::Insert => ProseSign::Added,
        };
        lines.push(plain(sign, change.value()));
    }
}

fn plain(sign: ProseSign, line: &str) -> ProseLine {
    ProseLine { sign, text: line.trim_end_matches(['\n', '\r']).to_owned(), marked: Vec::new() }
}

/// The old block and the new one, word by word.
fn replaced(old: &str, new: &str) -> Vec<ProseLine> {
    let diff = TextDiff::from_words(old, new);
    let worth_marking = kept_share(&diff) >= ALIKE;
    let side = |gone: ChangeTag, sign: ProseSign| {
        let mut block = Block::new(sign);
        for change in diff.iter_all_changes() {
            if change.tag() == gone || change.tag() == ChangeTag::Equal {
                block.word(change.value(), worth_marking && change.tag() == gone);
            }
        }
        block.lines
    };
    let mut lines = side(ChangeTag::Delete, ProseSign::Removed);
    lines.extend(side(ChangeTag::Insert, ProseSign::Added));
    lines
}

/// Share of the words, spaces not counted, that stand in both.
fn kept_share(diff: &TextDiff<'_, '_, str>) -> f64 {
    let words = diff.iter_all_changes().filter(|change| !change.value().trim().is_empty());
    let (kept, all) = words.fold((0.0, 0.0), |(kept, all), change| match change.tag() {
        ChangeTag::Equal => (kept + 2.0, all + 2.0),
        _ => (kept, all + 1.0),
    });
    if all > 0.0 { kept / all } else { 0.0 }
}

/// Words put together to lines again.
struct Block {
    sign: ProseSign,
    lines: Vec<ProseLine>,
    line_ended: bool,
}

impl Block {
    fn new(sign: ProseSign) -> Self {
        Self { sign, lines: Vec::new(), line_ended: true }
    }

    fn word(&mut self, word: &str, marked: bool) {
        for piece in word.split_inclusive('\n') {
            if self.line_ended {
                self.lines.push(plain(self.sign, ""));
            }
            self.line_ended = piece.ends_with('\n');
            let text = piece.trim_end_matches(['\n', '\r']);
            if let Some(line) = self.lines.last_mut() {
                put(line, text, marked && !text.trim().is_empty());
            }
        }
    }
}

/// Neighbouring marks become one, the space between them included.
fn put(line: &mut ProseLine, text: &str, marked: bool) {
    let start = line.text.len();
    line.text.push_str(text);
    if !marked {
        return;
    }
    let end = line.text.len();
    match line.marked.last_mut() {
        Some(last) if line.text[last.end..start].trim().is_empty() => last.end = end,
        _ => line.marked.push(start..end),
    }
}
