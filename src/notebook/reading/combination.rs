//! The whole combination: a bike's setup file, its maps and the file of the engine it names, read as one.

use std::collections::HashMap;
use std::path::Path;

use jiff::tz::Offset;

use crate::notebook::documents::engine::EngineDocument;
use crate::notebook::documents::setup::Setup;
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::combination::{Combination, OWNER, SetupFiles};
use crate::notebook::fields::finding::{Code, Finding, Place};
use crate::notebook::fields::names;
use crate::notebook::reading::document::{Checked, read};
use crate::notebook::reading::walk::ReadOptions;
use crate::notebook::rules;

impl Combination {
    /// Reads all files of a setup.
    pub fn read(files: &SetupFiles, refuse_bare_lengths: bool) -> Self {
        Self::read_among(files, refuse_bare_lengths, &mut EnginesRead::default())
    }

    /// The same, where many are read one after the other: an engine's file that did not change is read once.
    pub fn read_among(files: &SetupFiles, refuse_bare_lengths: bool, engines: &mut EnginesRead) -> Self {
        let map_file = |name: &str| {
            let bytes = files.maps.get(name)?;
            String::from_utf8(bytes.clone()).ok()
        };
        // Neither file has a date, so the place it is read at does not matter.
        let options = ReadOptions { refuse_bare_lengths, map_file: &map_file, here: Offset::UTC };
        let setup_path = SetupFiles::setup_path(&files.bike);
        let mut whole = Self::default();
        match &files.setup {
            Some(bytes) => {
                let checked = read::<Setup>(DocumentKind::Setup, &setup_path, bytes, options);
                let rules = rules::of_setup(&setup_path, &checked.fields, &checked.findings);
                whole.findings.extend(checked.findings);
                whole.findings.extend(rules);
                whole.setup = checked.document;
                whole.fields.extend(checked.fields);
            }
            None => whole.findings.push(missing_file(&setup_path, "The bike has no setup.toml.")),
        }
        whole.take_engine(files, &setup_path, options, engines);
        let cylinders = rules::cylinders::of_combination(files, &whole);
        whole.findings.extend(cylinders);
        whole
    }

    fn take_engine(
        &mut self,
        files: &SetupFiles,
        setup_path: &Path,
        options: ReadOptions<'_>,
        engines: &mut EnginesRead,
    ) {
        if let (Some(bytes), Some(name)) = (&files.engine, &files.engine_name) {
            let checked = engines.read(name, bytes, options);
            self.findings.extend_from_slice(&checked.findings);
            self.engine.clone_from(&checked.document);
            self.fields.extend(checked.fields.clone());
        } else if let Some(name) = self.fields.text("engine").map(str::to_owned) {
            let place = Place {
                file: setup_path.to_owned(),
                line: self.fields.entry("engine").map(|entry| entry.line),
                field: Some("engine".into()),
            };
            self.findings.push(match names::check(&name) {
                Err(error) => Finding::new(Code::BadName, place, &error.to_string(), error.help()),
                Ok(_) => Finding::new(
                    Code::Dangling,
                    place,
                    &format!("There is no engine \"{name}\"."),
                    "Make it, or name one that is there.",
                ),
            });
        }
    }
}

/// Engines that were read, by name, each as its file was the last time.
#[derive(Default)]
pub struct EnginesRead {
    known: HashMap<String, (Vec<u8>, bool, Checked<EngineDocument>)>,
}

impl EnginesRead {
    /// An engine's file; nothing beside it has a part in how it is read.
    fn read(&mut self, name: &str, bytes: &[u8], options: ReadOptions<'_>) -> &Checked<EngineDocument> {
        let refuse = options.refuse_bare_lengths;
        let is_known = self.known.get(name).is_some_and(|(of, how, _)| of == bytes && *how == refuse);
        if !is_known {
            let path = SetupFiles::engine_path(name);
            let options = ReadOptions { map_file: &|_| None, ..options };
            let mut checked = read::<EngineDocument>(DocumentKind::Engine, &path, bytes, options);
            checked.fields.take_out(OWNER);
            let rules = rules::of_setup(&path, &checked.fields, &checked.findings);
            checked.findings.extend(rules);
            self.known.insert(name.to_owned(), (bytes.to_vec(), refuse, checked));
        }
        &self.known[name].2
    }
}

fn missing_file(path: &Path, message: &str) -> Finding {
    Finding {
        code: Code::Dangling,
        place: Place::file(path),
        message: message.to_owned(),
        help: "Put the file back, or make the bike anew.".into(),
    }
}
