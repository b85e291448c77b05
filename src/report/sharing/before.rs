//! What was here before others' was brought last, and documents that were put back.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::names::visible;
use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;
use crate::report::words::layout::DATE;
use crate::store::{Before, Ended, FileBack};

/// The longest value that is shown.
const LONGEST: usize = 60;
/// Documents that are shown one by one.
const SHOWN: usize = 40;

/// What was otherwise here before others' was brought last.
#[derive(Debug, Serialize, JsonSchema)]
pub struct BeforeAnswer<'a> {
    /// When the newest of what was here then was recorded; null where nothing was ever brought.
    #[schemars(regex(pattern = DATE))]
    stood: Option<String>,
    /// Bikes of which a setup came or was chosen.
    bikes: Vec<BikeEntry<'a>>,
    /// Bikes that were taken out.
    gone: &'a [String],
    /// Documents that were changed or taken out.
    documents: Vec<DocumentEntry<'a>>,
}

/// A bike's setup before and since.
#[derive(Debug, Serialize, JsonSchema)]
struct BikeEntry<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Number of its newest setup before; null where it had none.
    #[schemars(range(min = 1))]
    was: Option<u32>,
    /// Number of its newest setup now.
    #[schemars(range(min = 1))]
    now: u32,
}

/// A document before and since.
#[derive(Debug, Serialize, JsonSchema)]
struct DocumentEntry<'a> {
    /// File, relative to the garage.
    file: &'a str,
    /// Whether it is not there any more.
    taken_out: bool,
    /// What was changed of it.
    fields: Vec<FieldBefore<'a>>,
}

/// One field before and since; null where it was not written.
#[derive(Debug, Serialize, JsonSchema)]
struct FieldBefore<'a> {
    /// The dotted field.
    field: &'a str,
    /// As it was.
    before: Option<&'a str>,
    /// As it came.
    since: Option<&'a str>,
}

impl<'a> BeforeAnswer<'a> {
    /// Of what was here before.
    pub fn of(before: Option<&'a Before>) -> Self {
        let Some(before) = before else {
            return Self { stood: None, bikes: Vec::new(), gone: &[], documents: Vec::new() };
        };
        let bike =
            |one: &'a crate::store::BikeBefore| BikeEntry { bike: &one.bike, was: one.was, now: one.now };
        let document = |one: &'a crate::store::DocumentBefore| DocumentEntry {
            file: &one.file,
            taken_out: one.taken_out,
            fields: one
                .fields
                .iter()
                .map(|(field, before, since)| FieldBefore {
                    field,
                    before: before.as_deref(),
                    since: since.as_deref(),
                })
                .collect(),
        };
        Self {
            stood: Some(before.stood.to_string()),
            bikes: before.bikes.iter().map(bike).collect(),
            gone: &before.gone,
            documents: before.documents.iter().map(document).collect(),
        }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut frame = Frame::new(screen);
        let Some(stood) = &self.stood else {
            frame.say("Nothing of others was ever brought here.");
            return frame.text();
        };
        if self.bikes.is_empty() && self.gone.is_empty() && self.documents.is_empty() {
            frame.say("Nothing that was here is otherwise since others' was brought.");
            return frame.text();
        }
        let day = stood.get(..16).unwrap_or(stood).replace('T', " ");
        frame.say(&format!(
            "Changed here when others' was brought last; what was here before was recorded until {day}:"
        ));
        for one in &self.bikes {
            let bike = visible(one.bike);
            match one.was {
                Some(was) => {
                    frame.say(&format!("{bike}: setup {was} before, {} now", one.now));
                    frame.command(&format!("reedbook rollback {bike} {was}"));
                }
                None => frame.say(&format!("{bike}: no setup before, {} now", one.now)),
            }
        }
        for bike in self.gone {
            let bike = visible(bike);
            frame.say(&format!("{bike} was taken out"));
            frame.command(&format!("reedbook bike retire {bike} --back"));
        }
        for one in self.documents.iter().take(SHOWN) {
            let file = visible(one.file);
            if one.taken_out {
                frame.say(&format!("{file} was taken out"));
            } else {
                frame.say(&format!("{file} was changed"));
            }
            for field in &one.fields {
                let (before, since) = (shown(field.before), shown(field.since));
                frame.say(&format!("  {}: {before} → {since}", visible(field.field)));
            }
            frame.command(&format!("reedbook share --put-back {file}"));
        }
        let more = self.documents.len().saturating_sub(SHOWN);
        if more > 0 {
            frame.say(&format!("and {more} more documents (--json has them all)"));
        }
        frame.text()
    }
}

fn shown(value: Option<&str>) -> String {
    let Some(value) = value else { return "-".to_owned() };
    let value = visible(value);
    if value.chars().count() <= LONGEST {
        return value;
    }
    value.chars().take(LONGEST).collect::<String>() + "…"
}

/// Documents that were put back, and a merge of git that was ended.
#[derive(Debug, Serialize, JsonSchema)]
pub struct FilesBackAnswer<'a> {
    /// The files, relative to the garage.
    files: Vec<&'a str>,
    /// When they were recorded as they stand now; null where it is as before others' was brought, or before the merge.
    #[schemars(regex(pattern = DATE))]
    stood: Option<String>,
    /// Who did that.
    author: Option<&'a str>,
    /// Who recorded another side of it, of which what else was changed stands as well.
    beside: &'a [String],
    /// Fields that another side had otherwise: as they stand and as that side had them.
    otherwise: Vec<Otherwise<'a>>,
    /// Git's object with what stood in the file, 40 hex digits; null where that is recorded.
    was: Option<&'a str>,
    /// Whether a merge of git was ended.
    merge_ended: bool,
    /// Whether a rebase of git was ended.
    rebase_ended: bool,
    /// Whether git's index was built anew.
    index_anew: bool,
}

/// A field that another side had otherwise; null where a side has it not.
#[derive(Debug, Serialize, JsonSchema)]
struct Otherwise<'a> {
    /// The dotted field.
    field: &'a str,
    /// As it stands.
    stands: Option<&'a str>,
    /// As the other side had it.
    theirs: Option<&'a str>,
}

impl<'a> FilesBackAnswer<'a> {
    /// One that could not be read.
    pub fn mended(back: &'a FileBack) -> Self {
        let otherwise = back.otherwise.iter().map(|both| Otherwise {
            field: &both.field,
            stands: both.ours.as_deref(),
            theirs: both.theirs.as_deref(),
        });
        Self {
            files: vec![&back.file],
            stood: Some(back.stood.to_string()),
            author: Some(&back.author),
            beside: &back.beside,
            otherwise: otherwise.collect(),
            was: back.was.as_deref(),
            merge_ended: false,
            rebase_ended: false,
            index_anew: false,
        }
    }

    /// Files as before others' was brought.
    pub fn as_before(files: &'a [String]) -> Self {
        let files = files.iter().map(String::as_str).collect();
        Self {
            files,
            stood: None,
            author: None,
            beside: &[],
            otherwise: Vec::new(),
            was: None,
            merge_ended: false,
            rebase_ended: false,
            index_anew: false,
        }
    }

    /// Files as before a merge that is ended, or git's index built anew.
    pub fn ended(ended: &'a Ended) -> Self {
        match ended {
            Ended::Merge(files) => Self { merge_ended: true, ..Self::as_before(files) },
            Ended::Rebase(files) => Self { rebase_ended: true, ..Self::as_before(files) },
            Ended::Index => Self { index_anew: true, ..Self::as_before(&[]) },
        }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut frame = Frame::new(screen);
        if self.index_anew {
            frame.say("Git's index is built anew from what is recorded.");
            return frame.text();
        }
        if self.merge_ended || self.rebase_ended {
            let what = if self.rebase_ended { "rebase" } else { "merge" };
            frame.say(&format!("The {what} is ended: all stands as it was recorded before it."));
            frame.command("reedbook share    (brings both together and asks)");
            return frame.text();
        }
        for file in &self.files {
            let file = visible(file);
            match (&self.stood, self.author) {
                (Some(stood), Some(author)) => {
                    let day = stood.get(..10).unwrap_or(stood);
                    let beside = match self.beside {
                        [] => String::new(),
                        others => {
                            format!(
                                ", with what else {} changed",
                                others.iter().map(|name| visible(name)).collect::<Vec<_>>().join(" and ")
                            )
                        }
                    };
                    frame.say(&format!("{file} stands as {} recorded it on {day}{beside}.", visible(author)));
                }
                _ => frame.say(&format!("{file} is as it was before others' was brought.")),
            }
        }
        for one in &self.otherwise {
            let (stands, theirs) = (shown(one.stands), shown(one.theirs));
            frame.know(&format!("{}: {stands} stands; the other side had {theirs}.", visible(one.field)));
        }
        if let Some(id) = self.was {
            frame.say(&format!("What stood in it: `git show {}`", id.get(..12).unwrap_or(id)));
        }
        frame.text()
    }
}
