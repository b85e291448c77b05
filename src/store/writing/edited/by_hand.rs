//! Files that are open in the user's editor for as long as he likes: what another recorded meanwhile is merged with what he
//! wrote, line by line, else field by field, and never undone.

use std::path::{Path, PathBuf};

use git2::MergeFileInput;

use crate::machine::Moment;
use crate::notebook::editing::assign::apply;
use crate::notebook::{Assignment, Combination, EditOptions, FieldSet, SetupFiles, compare};
use crate::store::error::{StoreError, git};
use crate::store::folder::garage::Garage;
use crate::store::folder::gate::OWN;
use crate::store::index::rows::path_text;

/// Files as they were when the editor opened them.
#[derive(Debug)]
pub struct HandEdit {
    files: Vec<Open>,
}

#[derive(Debug)]
struct Open {
    path: PathBuf,
    /// Its bytes then.
    before: Vec<u8>,
    /// What was recorded of it then.
    recorded: Option<Vec<u8>>,
}

impl HandEdit {
    /// Looks at the files that are about to be opened.
    pub fn begin(garage: &Garage, paths: Vec<PathBuf>) -> Result<Self, StoreError> {
        let open = |path: PathBuf| {
            let before = garage.read(&path)?.unwrap_or_default();
            let recorded = garage.recorded(&path)?;
            Ok(Open { path, before, recorded })
        };
        Ok(Self { files: paths.into_iter().map(open).collect::<Result<_, StoreError>>()? })
    }

    /// Where they are, for the editor.
    pub fn places(&self, garage: &Garage) -> Result<Vec<PathBuf>, StoreError> {
        self.files.iter().map(|file| garage.path_for_editor(&file.path)).collect()
    }

    /// After the editor: merges what was recorded meanwhile with what it saved. Where both changed one field, what was
    /// recorded stands, the other text is kept, and it is said where.
    pub fn settle(&self, garage: &Garage, moment: &Moment) -> Result<(), StoreError> {
        for file in &self.files {
            if garage.recorded(&file.path)? == file.recorded {
                continue;
            }
            let _lock = garage.begin_writing(moment)?;
            let (theirs, mine) = (garage.recorded(&file.path)?, garage.read(&file.path)?.unwrap_or_default());
            let theirs = theirs.unwrap_or_default();
            if mine == theirs {
                continue;
            }
            let merged =
                if mine == file.before { Some(theirs.clone()) } else { file.merged(garage, &theirs, &mine)? };
            match merged {
                Some(merged) => garage.gate().write(&file.path, &merged)?,
                None => return Err(file.keep(garage, &theirs, &mine)?),
            }
        }
        Ok(())
    }
}

impl Open {
    fn merged(&self, garage: &Garage, theirs: &[u8], mine: &[u8]) -> Result<Option<Vec<u8>>, StoreError> {
        if let Some(merged) = by_lines(&self.before, theirs, mine).map_err(git("merge what was edited"))? {
            return Ok(Some(merged));
        }
        let parts: Vec<_> = self.path.iter().filter_map(|part| part.to_str()).collect();
        let ["bikes", bike, "setup.toml"] = parts.as_slice() else { return Ok(None) };
        Ok(by_fields(garage, bike, (&self.before, theirs, mine)))
    }

    /// Keeps what the editor saved beside, and lets what was recorded stand.
    fn keep(&self, garage: &Garage, theirs: &[u8], mine: &[u8]) -> Result<StoreError, StoreError> {
        let name = path_text(&self.path).replace('/', "-");
        let kept = Path::new(OWN).join(format!("edited-{name}"));
        garage.repository().own().write(&kept, mine)?;
        garage.gate().write(&self.path, theirs)?;
        Ok(StoreError::request(
            None,
            format!(
                "While your editor was open another recorded {}, and both changed the same; nothing of yours was recorded.",
                path_text(&self.path)
            ),
            format!("Your text is kept in .git/{}: say again what of it holds.", path_text(&kept)),
        ))
    }
}

/// Both sides' lines, where they do not touch.
fn by_lines(before: &[u8], theirs: &[u8], mine: &[u8]) -> Result<Option<Vec<u8>>, git2::Error> {
    let [base, other, own] = [before, theirs, mine].map(|bytes| {
        let mut input = MergeFileInput::new();
        input.content(bytes);
        input
    });
    let merged = git2::merge_file(&base, &other, &own, None)?;
    Ok(merged.is_automergeable().then(|| merged.content().to_vec()))
}

/// What was recorded with the fields that the editor changed, where no field was changed by both.
fn by_fields(garage: &Garage, bike: &str, (before, theirs, mine): (&[u8], &[u8], &[u8])) -> Option<Vec<u8>> {
    let files = |setup: &[u8]| SetupFiles {
        bike: bike.to_owned(),
        setup: Some(setup.to_owned()),
        ..SetupFiles::default()
    };
    let fields = |setup: &[u8]| Combination::read(&files(setup), false).fields;
    let (before, after) = (fields(before), fields(mine));
    let changed = |after: &FieldSet| -> Vec<String> {
        compare(&before, after).changes.into_iter().map(|change| change.field).collect()
    };
    let (of_theirs, of_mine) = (changed(&fields(theirs)), changed(&after));
    if of_mine.is_empty() || of_mine.iter().any(|field| of_theirs.contains(field)) {
        return None;
    }
    let assign = |field: &String| {
        let value = after.iter().find(|(name, _)| *name == field).map(|(_, entry)| entry.value.typed());
        Assignment::parse(&format!("{field}={}", value.unwrap_or_default())).ok()
    };
    let assignments = of_mine.iter().map(assign).collect::<Option<Vec<_>>>()?;
    let options = EditOptions { insert: false, refuse_bare_lengths: garage.is_imperial() };
    let merged = apply(&files(theirs), &assignments, options).ok()?.setup?;
    Some(merged)
}
