//! Changing a setup's files by field: what is written and what stays as it was. The bike is invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use reedbook::notebook::editing::assign::apply;
use reedbook::notebook::{
    Assignment, CellPlace, Code, Combination, EditError, EditOptions, SetupFiles, compare,
};

const SETUP: &str = r#"# Moth, number 41
engine = "a1"   # the good one

[jetting]
# by the plug, not by the book
main = 178   # rich at Saturday's test
main_numbered_by = "flow"
needle_jet = "0.1043 in"
clip = 3

[ignition]
map_kind = "relative"
rpm     = [8000, 9000, 9500, 10000]
advance = [20.0, 19.0, 18.5, 17.0]  # from the box

# --- the tank ---
[fuel]
oil_ratio = 32
temperature = "18 C"

[extra]
flywheel = "light"
"#;

const ENGINE: &str = r#"[engine]
bore = "54 mm"

[ports.windows.exhaust]
kind = "exhaust"
top = "25.30 mm"   # measured twice
"#;

fn files(setup: &str) -> SetupFiles {
    SetupFiles {
        bike: "moth".into(),
        setup: Some(setup.as_bytes().to_vec()),
        engine_name: Some("a1".into()),
        engine: Some(ENGINE.as_bytes().to_vec()),
        maps: std::iter::once(("maps/wet.csv".to_owned(), b"rpm,8000,9000\n,18,16\n".to_vec())).collect(),
    }
}

fn text(bytes: Option<&Vec<u8>>) -> String {
    String::from_utf8(bytes.cloned().unwrap_or_default()).unwrap()
}

fn edit_with(files: &SetupFiles, typed: &[&str], options: EditOptions) -> Result<SetupFiles, EditError> {
    let assignments = typed.iter().map(|one| Assignment::parse(one)).collect::<Result<Vec<_>, _>>()?;
    apply(files, &assignments, options)
}

fn edit(typed: &[&str]) -> SetupFiles {
    let edited = edit_with(&files(SETUP), typed, EditOptions::default()).unwrap();
    readable(&edited);
    edited
}

/// What was written can be read again, and only what was asked for differs.
fn readable(files: &SetupFiles) {
    let whole = Combination::read(files, false);
    let broken: Vec<_> = whole.findings.iter().filter(|finding| finding.code != Code::MissingField).collect();
    assert!(broken.is_empty(), "{broken:?}\n{}", text(files.setup.as_ref()));
}

fn setup(typed: &[&str]) -> String {
    text(edit(typed).setup.as_ref())
}

fn refused(typed: &str) -> EditError {
    edit_with(&files(SETUP), &[typed], EditOptions::default()).expect_err(typed)
}

/// The lines that differ, old ones with - and new ones with +.
fn lines(old: &str, new: &str) -> Vec<String> {
    let gone =
        old.lines().filter(|line| !new.lines().any(|other| other == *line)).map(|line| format!("-{line}"));
    let come =
        new.lines().filter(|line| !old.lines().any(|other| other == *line)).map(|line| format!("+{line}"));
    gone.chain(come).collect()
}

fn only_line(typed: &str, expected: &str) {
    let new = setup(&[typed]);
    let changed = lines(SETUP, &new);
    let come: Vec<_> = changed.iter().filter(|line| line.starts_with('+')).collect();
    assert_eq!(come, [&format!("+{expected}")], "{typed}");
    assert_eq!(new.lines().count(), SETUP.lines().count(), "{typed}");
}

#[test]
fn an_assignment_is_read_with_its_place_and_value() {
    let parse = |typed: &str| Assignment::parse(typed).unwrap();
    let plain = parse(" jetting.main = 172 ");
    assert_eq!((plain.field.as_str(), plain.at, plain.value.as_deref()), ("jetting.main", None, Some("172")));
    let cell = parse("ignition.advance@9500/50=17");
    assert_eq!(cell.at, Some(CellPlace { rpm: 9500.0, throttle: Some(50.0) }));
    assert_eq!(parse("ignition.advance@9500 rpm/50 %=17").at, cell.at);
    assert_eq!(parse("ignition.advance@9500=17").at, Some(CellPlace { rpm: 9500.0, throttle: None }));
    assert_eq!(parse("jetting.shim=").value, None);
    assert_eq!(parse("notes=a = b").value.as_deref(), Some("a = b"));
}

#[test]
fn a_value_is_written_as_typed_and_nothing_else_moves() {
    only_line("jetting.main=172", "main = 172   # rich at Saturday's test");
    only_line("jetting.main=172.50", "main = 172.50   # rich at Saturday's test");
    only_line("fuel.oil_ratio=28", "oil_ratio = 28");
    only_line("fuel.temperature=66 F", "temperature = \"66 F\"");
    only_line("fuel.temperature=19", "temperature = 19");
    only_line("jetting.needle_jet=2.65 mm", "needle_jet = \"2.65 mm\"");
    only_line("jetting.needle_jet=0.1045 in", "needle_jet = \"0.1045 in\"");
    only_line("jetting.main_numbered_by=bore", "main_numbered_by = \"bore\"");
    only_line("extra.flywheel=0.5 kg", "flywheel = \"0.5 kg\"");
}

#[test]
fn a_field_of_the_engine_goes_into_the_engine_file() {
    let edited = edit(&["ports.windows.exhaust.top=24.90 mm", "engine.stroke=54.50"]);
    assert_eq!(text(edited.setup.as_ref()), SETUP);
    assert_eq!(
        lines(ENGINE, &text(edited.engine.as_ref())),
        [
            "-top = \"25.30 mm\"   # measured twice",
            "+stroke = 54.50",
            "+top = \"24.90 mm\"   # measured twice"
        ]
    );
}

#[test]
fn a_missing_table_is_made_with_a_heading_in_its_place() {
    let new = setup(&["pipe.name=P3", "gearing.front=16", "pipe.sections.header.length=180 mm"]);
    let order: Vec<_> = new.lines().filter(|line| line.starts_with('[')).collect();
    assert_eq!(
        order,
        ["[jetting]", "[ignition]", "[pipe]", "[pipe.sections.header]", "[fuel]", "[gearing]", "[extra]"],
        "{new}"
    );
    assert!(new.contains("\n\n[pipe]\nname = \"P3\"\n\n[pipe.sections.header]\nlength = \"180 mm\"\n\n# --- the tank ---\n[fuel]"), "{new}");
}

#[test]
fn a_first_window_and_a_second_one_get_headings_of_their_own() {
    let edited = edit(&[
        "ports.windows.boost.kind=boost",
        "ports.windows.boost.top=38.5",
        "ports.deck_height=0.1",
        "head.insert=B2",
    ]);
    assert_eq!(
        text(edited.engine.as_ref()),
        "[engine]\nbore = \"54 mm\"\n\n[ports]\ndeck_height = 0.1\n\n[ports.windows.exhaust]\nkind = \"exhaust\"\ntop = \"25.30 mm\"   \
         # measured twice\n\n[ports.windows.boost]\nkind = \"boost\"\ntop = 38.5\n\n[head]\ninsert = \"B2\"\n"
    );
}

#[test]
fn a_section_put_first_leaves_the_opening_comment_first() {
    let before = "# Moth\n# second year\n\n# carburetor of the spare bike\n[jetting]\nclip = 3\n";
    let edited = edit_with(&files(before), &["ignition.base=18"], EditOptions::default()).unwrap();
    assert_eq!(
        text(edited.setup.as_ref()),
        "# Moth\n# second year\n\n[ignition]\nbase = 18\n\n# carburetor of the spare bike\n[jetting]\nclip = 3\n"
    );
    let bare =
        edit_with(&files(""), &["jetting.clip=3", "ignition.base=18", "engine=a1"], EditOptions::default())
            .unwrap();
    assert_eq!(
        text(bare.setup.as_ref()),
        "engine = \"a1\"\n\n[ignition]\nbase = 18\n\n[jetting]\nclip = 3\n"
    );
}

#[test]
fn inline_tables_and_dotted_keys_stay_what_they_are() {
    let before = "jetting = { main = 178, clip = 3 } # all of it\nfuel.oil_ratio = 32\npipe = {}\n";
    let typed = ["jetting.main=172", "jetting.pilot=45", "fuel.oil=Castor", "pipe.sections.belly.length=90"];
    let edited = edit_with(&files(before), &typed, EditOptions::default()).unwrap();
    readable(&edited);
    assert_eq!(
        text(edited.setup.as_ref()),
        "jetting = { main = 172, clip = 3 , pilot = 45 } # all of it\nfuel.oil_ratio = 32\nfuel.oil = \"Castor\"\n\
         pipe = { sections = { belly = { length = 90 } } }\n"
    );
    let dotted =
        SetupFiles { engine: Some(b"[ports]\nwindows.exhaust.kind = \"exhaust\"\n".to_vec()), ..files("") };
    let edited = edit_with(&dotted, &["ports.windows.boost.kind=boost"], EditOptions::default()).unwrap();
    readable(&edited);
    assert_eq!(
        text(edited.engine.as_ref()),
        "[ports]\nwindows.exhaust.kind = \"exhaust\"\nwindows.boost.kind = \"boost\"\n"
    );
}

#[test]
fn windows_line_ends_and_the_byte_order_mark_stay() {
    let before = format!("\u{feff}{}", SETUP.replace('\n', "\r\n"));
    let edited =
        edit_with(&files(&before), &["jetting.main=172", "notes=one\ntwo"], EditOptions::default()).unwrap();
    let after = text(edited.setup.as_ref());
    assert!(after.starts_with("\u{feff}# Moth"));
    assert_eq!(after.matches('\n').count(), after.matches("\r\n").count());
    readable(&edited);
}

#[test]
fn notes_may_have_several_lines() {
    let edited = edit(&["notes=dry track\nlean at 3/4"]);
    let whole = Combination::read(&edited, false);
    assert_eq!(whole.fields.text("notes").map(str::trim_end), Some("dry track\nlean at 3/4"));
}

#[test]
fn the_free_part_takes_numbers_flags_and_words() {
    let new = setup(&[
        "extra.spring=0.75",
        "extra.vented=true",
        "extra.cap=red",
        "extra.cooling.fan=off",
        "extra.odd=nan",
    ]);
    assert!(new.ends_with("flywheel = \"light\"\nspring = 0.75\nvented = true\ncap = \"red\"\nodd = \"nan\"\n\n[extra.cooling]\nfan = \"off\"\n"), "{new}");
    assert!(matches!(refused("extra=1"), EditError::NotOneValue { .. }));
}

#[test]
fn an_empty_value_takes_the_field_out_and_keeps_its_comments() {
    let new = setup(&["jetting.main="]);
    assert!(
        new.contains("[jetting]\n# by the plug, not by the book\n# rich at Saturday's test\nmain_numbered_by = \"flow\"\n"),
        "{new}"
    );
    let tank = setup(&["fuel.oil_ratio=", "fuel.temperature="]);
    assert!(!tank.contains("[fuel]") && tank.contains("# --- the tank ---\n\n[extra]"), "{tank}");
    let last = edit_with(
        &files("# top\n[jetting]\n# seldom\nclip = 3\n"),
        &["jetting.clip="],
        EditOptions::default(),
    );
    assert_eq!(text(last.unwrap().setup.as_ref()), "# top\n[jetting]\n# seldom\n");
    assert_eq!(
        setup(&["jetting.shim="]),
        SETUP,
        "what is not there cannot be taken out, and that is no fault"
    );
}

#[test]
fn a_section_that_still_shows_fields_keeps_its_heading() {
    let shown = "[jetting]\nclip = 3\n# main = 172\n\n[fuel]\noil_ratio = 32\n";
    let edited = edit_with(&files(shown), &["jetting.clip="], EditOptions::default()).unwrap();
    assert_eq!(text(edited.setup.as_ref()), shown.replace("clip = 3\n", ""));
    let edited = edit_with(&files(shown), &["fuel.oil_ratio="], EditOptions::default()).unwrap();
    assert_eq!(text(edited.setup.as_ref()), "[jetting]\nclip = 3\n# main = 172\n");
}

#[test]
fn a_named_part_can_be_taken_out_as_a_whole() {
    let edited = edit(&["ports.windows.exhaust="]);
    assert_eq!(text(edited.engine.as_ref()), "[engine]\nbore = \"54 mm\"\n");
    assert!(matches!(refused("ports.windows.exhaust=4"), EditError::NotOneValue { .. }));
}

#[test]
fn another_engine_is_named_but_not_in_hand() {
    let edited = edit_with(&files(SETUP), &["engine=b2"], EditOptions::default()).unwrap();
    assert_eq!(
        lines(SETUP, &text(edited.setup.as_ref())),
        ["-engine = \"a1\"   # the good one", "+engine = \"b2\"   # the good one"]
    );
    assert_eq!((edited.engine_name.as_deref(), edited.engine), (Some("b2"), None));
    let same = edit(&["engine=a1", "head.plug=cold"]);
    assert!(same.engine.is_some());
    for order in [["engine=b2", "head.plug=cold"], ["head.plug=cold", "engine=b2"]] {
        let error = edit_with(&files(SETUP), &order, EditOptions::default()).unwrap_err();
        assert!(matches!(error, EditError::TwoEngines { .. }));
    }
    let none = SetupFiles { engine: None, engine_name: None, ..files(SETUP) };
    assert!(matches!(
        edit_with(&none, &["head.plug=cold"], EditOptions::default()),
        Err(EditError::NoEngine { .. })
    ));
    assert!(matches!(refused("engine=../b2"), EditError::BadFolderName { .. }));
}

#[test]
fn several_changes_read_back_as_just_those() {
    let edited = edit(&["jetting.main=172", "head.gasket=0.5 mm", "ignition.advance@9500=17.5", "notes=dry"]);
    let comparison =
        compare(&Combination::read(&files(SETUP), false).fields, &Combination::read(&edited, false).fields);
    let fields: Vec<_> = comparison.changes.iter().map(|change| change.field.as_str()).collect();
    assert_eq!(fields, ["head.gasket", "ignition.advance", "jetting.main", "notes"]);
}

#[test]
fn a_line_that_shows_a_field_loses_its_sign_and_keeps_its_place_and_remark() {
    let shown = "# take the sign off\nengine = \"a1\"\n\n# notes = \"as bought\"    # anything\n\n[jetting]\n# main = 172   # main jet\n\
                 # main = 172 was rich\n# clip = 3     # from the top\n\n# A table for each section.\n# [pipe.sections.header]\n\
                 # length = 240 # mm\n\n[gearing]\n# front = 17 # teeth\n\n# [gearing.ratios]\n# 1 = 2.07\n# 2 = 1.63\n";
    let typed = [
        "jetting.clip=4",
        "jetting.main=178",
        "notes=mine",
        "pipe.sections.header.length=250 mm",
        "gearing.ratios.2=1.60",
    ];
    let edited = edit_with(&files(shown), &typed, EditOptions::default()).unwrap();
    readable(&edited);
    assert_eq!(
        text(edited.setup.as_ref()),
        shown
            .replace("# clip = 3  ", "clip = 4  ")
            .replace("# main = 172   #", "main = 178   #")
            .replace("# notes = \"as bought\"", "notes = \"mine\"")
            .replace(
                "# [pipe.sections.header]\n# length = 240",
                "[pipe.sections.header]\nlength = \"250 mm\""
            )
            .replace("# [gearing.ratios]\n# 1 = 2.07\n# 2 = 1.63", "[gearing.ratios]\n# 1 = 2.07\n2 = 1.60")
    );
}

#[test]
fn a_sign_stays_where_taking_it_off_would_touch_something_else() {
    let captured = "[ignition]\n# [jetting]\n# clip = 3\nbase = 18\n";
    let edited = edit_with(&files(captured), &["jetting.clip=4"], EditOptions::default()).unwrap();
    assert_eq!(text(edited.setup.as_ref()), format!("{captured}\n[jetting]\nclip = 4\n"));
    let quoted =
        "notes = \"\"\"\n# clip = 3\n\"\"\"\n\n[jetting]\nmain = 172\n\n# [fuel]\n# oil_ratio = 32 or 28\n";
    let edited =
        edit_with(&files(quoted), &["jetting.clip=4", "fuel.oil_ratio=28"], EditOptions::default()).unwrap();
    assert_eq!(
        text(edited.setup.as_ref()),
        quoted.replace("main = 172\n", "main = 172\nclip = 4\n") + "\n[fuel]\noil_ratio = 28\n"
    );
}

#[test]
fn what_is_added_to_the_end_comes_after_the_comments_there() {
    let edited = edit_with(&files("# only words\n"), &["jetting.clip=4"], EditOptions::default()).unwrap();
    assert_eq!(text(edited.setup.as_ref()), "# only words\n\n[jetting]\nclip = 4\n");
    let end = "engine = \"a1\"\n\n[jetting]\nclip = 3\n# end of the carburetor\n";
    let edited = edit_with(&files(end), &["gearing.front=16"], EditOptions::default()).unwrap();
    assert_eq!(text(edited.setup.as_ref()), format!("{end}\n[gearing]\nfront = 16\n"));
}
