//! An invented bike: her setup today, the good one from then, and what the tests of restoring ask of both.

#![allow(dead_code, clippy::unwrap_used, clippy::expect_used, clippy::panic)] // each test file uses a part of it

use reedbook::notebook::restoring::plan::plan;
use reedbook::notebook::{Code, Combination, RestorePlan, RestoreRequest, SetupFiles};

/// Setup 7: the good one.
pub(crate) const THEN: &str = r#"engine = "a1"
notes = "dry and fast"

[ignition]
map_kind = "relative"
rpm = [8000, 9000, 10500]
advance = [20, 18, 16]

[jetting]
main = 172
main_numbered_by = "flow"
clip = 4
air_screw = "1 3/4 turns"

[pipe]
name = "P3"

[pipe.sections.header]
place = 1
length = "200 mm"

[gearing]
front = 17
"#;

/// Her engine then.
pub(crate) const ENGINE_THEN: &str = r#"[engine]
bore = "54 mm"

[ports.windows.exhaust]
kind = "exhaust"
top = "25.30 mm"

[head]
insert = "B2"
chamber_volume = "9.80 cc"
squish_clearance = "0.80 mm"
gasket = "0.30 mm"
"#;

/// Today.
pub(crate) const NOW: &str = r#"# Moth, as she stands
engine = "a1" # the good one
notes = "wet"

[ignition]
map_kind = "relative"
rpm = [8000, 9000, 10500] # same box
advance = [20, 20, 18]

# all by the plug
[jetting]
main = 178 # rich
main_numbered_by = "flow"
# for the rain
shim = 0.5
clip = 3
air_screw = 1.5

[pipe]
name = "P3"

[pipe.sections.header]
place = 1
length = "200 mm"

[gearing]
front = 16
"#;

/// Her files with these texts.
pub(crate) fn with(setup: &str, engine: &str) -> SetupFiles {
    SetupFiles {
        bike: "moth".into(),
        setup: Some(setup.as_bytes().to_vec()),
        engine_name: SetupFiles::named_engine(setup.as_bytes()),
        engine: Some(engine.as_bytes().to_vec()),
        ..SetupFiles::default()
    }
}

/// Reads them; nothing is wrong with them.
pub(crate) fn read(files: &SetupFiles) -> Combination {
    let whole = Combination::read(files, false);
    let broken: Vec<_> = whole.findings.iter().filter(|finding| finding.code != Code::Dangling).collect();
    assert!(broken.is_empty(), "{broken:?}\n{}", text(files));
    whole
}

/// Both texts.
pub(crate) fn text(files: &SetupFiles) -> String {
    let read = |bytes: &Option<Vec<u8>>| String::from_utf8(bytes.clone().unwrap_or_default()).unwrap();
    format!("{}\n{}", read(&files.setup), read(&files.engine))
}

/// Puts setup 7 back whole.
pub(crate) fn setup_7() -> RestoreRequest<'static> {
    RestoreRequest { target_words: "setup 7".into(), ..RestoreRequest::default() }
}

/// The plan for two setups.
pub(crate) fn plan_with(now: &SetupFiles, then: &SetupFiles, request: &RestoreRequest<'_>) -> RestorePlan {
    plan(&read(now), &read(then), request).unwrap()
}

/// The fields that come back.
pub(crate) fn applied(plan: &RestorePlan) -> Vec<&str> {
    plan.applied.iter().map(|change| change.field.as_str()).collect()
}

/// What stays different.
pub(crate) fn sentences(plan: &RestorePlan) -> Vec<&str> {
    plan.still_different.iter().map(|still| still.sentence.as_str()).collect()
}

/// Engines that differ in one way, the rest of the bike alike.
pub(crate) fn engines(now: &str, then: &str, request: &RestoreRequest<'_>) -> RestorePlan {
    plan_with(&with(THEN, now), &with(THEN, then), request)
}
