//! What a step is told, and why it is refused.

use super::{Season, air, ran, read};
use crate::advice::held::harms::Trade;
use crate::advice::held::refused::case::Case;
use crate::advice::held::{HurtKind, Judgement, Proposal, Step, Told};
use crate::air::Air;
use crate::notebook::Combination;
use crate::notebook::guidance::{Command, OutingChange, Typed};

const WHOLE: &str = "engine = \"a\"\n[ignition]\nbase = 15\nmap_kind = \"relative\"\nrpm = [6000, 9000]\nadvance = [20, 18]\n\
    [jetting]\nmain = 178\nmain_numbered_by = \"bore\"\npilot = 50\npilot_numbered_by = \"bore\"\nclip = 3\nair_screw = 1.5\n\
    [pipe]\nname = \"P3\"\nstinger_length = \"240 mm\"\n[fuel]\noil_ratio = 32\n";

const ENGINE: &str = "[ports]\nbase_gasket = \"0.50 mm\"\n[head]\nsquish_clearance = \"0.75 mm\"\nchamber_volume = \"8.6 cc\"\n";

fn changed(text: &str, changes: &[(&str, &str)]) -> Combination {
    let mut text = text.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    read(&text)
}

fn step(changes: &[(&str, &str)]) -> Step {
    let season = Season::new();
    Step::between(&read(WHOLE), &changed(WHOLE, changes), &season.tables())
}

fn engine_step(changes: &[(&str, &str)]) -> Step {
    let engine = |text: &str| {
        let files = crate::notebook::SetupFiles {
            bike: "moth".into(),
            setup: Some(WHOLE.as_bytes().to_vec()),
            engine_name: Some("a".into()),
            engine: Some(text.as_bytes().to_vec()),
            ..crate::notebook::SetupFiles::default()
        };
        Combination::read(&files, false)
    };
    let mut after = ENGINE.to_owned();
    for (from, to) in changes {
        assert!(after.contains(from), "{from}");
        after = after.replacen(from, to, 1);
    }
    let season = Season::new();
    Step::between(&engine(ENGINE), &engine(&after), &season.tables())
}

fn judged(season: &Season, changes: &[(&str, &str)], (air, back): (Option<&Air>, bool)) -> Judgement {
    let (before, after) = (read(WHOLE), changed(WHOLE, changes));
    let proposal = Proposal {
        bike: "moth",
        before: Some(&before),
        after: &after,
        air,
        back,
        advised: false,
        kept: None,
        moves_nothing: false,
    };
    let holds = season.holds_of(&after);
    let step = Step::between(&before, &after, &season.tables());
    Case {
        step,
        since_run: None,
        held_before: Vec::new(),
        engine_was_elsewhere: false,
        lean_beside: None,
        opened_beside: None,
        besides: Vec::new(),
        holds,
        proposal: &proposal,
        before: &before,
        tables: season.tables(),
        trade: Trade::default(),
    }
    .judgement()
}

#[test]
fn what_hurts_is_found_and_nothing_else() {
    let kinds = |changes: &[(&str, &str)]| step(changes).kinds();
    for leaner in [
        ("main = 178", "main = 176"),
        ("pilot = 50", "pilot = 47.5"),
        ("clip = 3", "clip = 2"),
        ("air_screw = 1.5", "air_screw = 1.75"),
    ] {
        assert_eq!(kinds(&[leaner]), [HurtKind::Fuel], "{leaner:?}");
        assert!(kinds(&[(leaner.0, leaner.0)]).is_empty());
    }
    assert_eq!(kinds(&[("[20, 18]", "[20, 18.5]")]), [HurtKind::Spark]);
    assert_eq!(kinds(&[("base = 15", "base = 16")]), [HurtKind::Spark]);
    assert_eq!(kinds(&[("240 mm", "230 mm")]), [HurtKind::Stinger]);
    assert_eq!(kinds(&[("oil_ratio = 32", "oil_ratio = 40")]), [HurtKind::Oil]);
    assert_eq!(kinds(&[("oil_ratio = 32", "oil_ratio = 40"), ("main = 178", "main = 176")]).len(), 2);
    for harmless in [
        ("main = 178", "main = 180"),
        ("clip = 3", "clip = 4"),
        ("air_screw = 1.5", "air_screw = 1.25"),
        ("[20, 18]", "[20, 17]"),
        ("base = 15", "base = 14"),
        ("240 mm", "250 mm"),
        ("oil_ratio = 32", "oil_ratio = 34"),
    ] {
        assert!(step(&[harmless]).is_harmless(), "{harmless:?}");
    }
    assert_eq!(step(&[("main = 178", "main = 166")]).sizes(), 6);
    assert_eq!(step(&[("main = 178", "main = 166")]).harms[0].words, "main 178 -> 166, 6 sizes leaner");
    // In an engine that never ran less is less; one that ran is set against its own runs.
    let other = step(&[("\"a\"", "\"b\""), ("main = 178", "main = 160")]);
    assert!(other.other_engine && other.sizes() > 2);
    assert!(other.counted_by_its_own_runs().is_harmless());
    // A shorter stinger of another pipe is set against nothing.
    assert!(step(&[("\"P3\"", "\"P4\""), ("240 mm", "220 mm")]).is_harmless());
}

#[test]
fn far_less_oil_at_once_is_refused_and_a_little_is_said() {
    let season = Season::new();
    let refused = |ratio: &str| {
        let judged = judged(&season, &[("oil_ratio = 32", ratio)], (None, false));
        judged.refused.iter().any(|refusal| refusal.sentence.without_commands().contains("Far less oil"))
    };
    assert!(refused("oil_ratio = 50") && !refused("oil_ratio = 40") && !refused("oil_ratio = 20"));
}

#[test]
fn a_tighter_head_is_one_thing_however_many_fields_say_it() {
    let gasket = engine_step(&[("0.50 mm", "0.40 mm"), ("0.75 mm", "0.65 mm")]);
    assert_eq!(gasket.kinds(), [HurtKind::Head]);
    assert!(gasket.harms[0].words.contains("base gasket 0.50 mm -> 0.40 mm"), "{}", gasket.harms[0].words);
    assert_eq!(engine_step(&[("8.6 cc", "8.4 cc")]).kinds(), [HurtKind::Head]);
    // What was measured says more than the gasket.
    assert!(
        engine_step(&[("0.50 mm", "0.40 mm"), ("0.75 mm", "0.80 mm"), ("8.6 cc", "8.8 cc")]).is_harmless()
    );
    assert!(engine_step(&[("0.50 mm", "0.60 mm"), ("0.75 mm", "0.85 mm")]).is_harmless());
}

#[test]
fn leaner_than_a_run_allows_is_refused_and_richer_never() {
    let seized = format!("notes = \"seized on the straight\"\n{}", ran("full = \"lean\"", 20.0));
    let season = Season::new().run_with(read(WHOLE), &seized);
    let down = judged(&season, &[("main = 178", "main = 176")], (None, false));
    let words = down.refused[0].sentence.without_commands();
    assert!(words.starts_with("Nothing leaner at full throttle: the run of 2026-05-01"), "{words}");
    assert!(words.contains("seized") && words.contains("main 182"), "{words}");
    let mend = Typed::Command(Command::MendRun("moth run1".into(), OutingChange::CauseAndMend));
    assert!(down.way_out.typed().any(|typed| *typed == mend), "{:?}", down.way_out);
    assert!(down.told[0].urgent && down.told[0].sentence().starts_with("Main 178 -> 176, 1 size leaner"));
    assert!(down.allow(None).is_err());
    assert_eq!(down.allow(Some(" new seal ")).unwrap().as_deref(), Some("new seal"));
    for main in ["180", "182"] {
        let up = judged(&season, &[("main = 178", &format!("main = {main}"))], (None, false));
        assert!(up.refused.is_empty(), "{up:?}");
        // One size is richer, and not yet what a seizure asks for.
        let told: Vec<String> = up.told.iter().map(Told::sentence).collect();
        let still = told.iter().any(|told| told.starts_with("Still too little at full throttle"));
        assert_eq!((still, told.len()), (main == "180", usize::from(main == "180")), "{told:?}");
    }
    // In much thinner air the same fuel is rich enough.
    let far = judged(&season, &[("main = 178", "main = 176")], (Some(&air(60.0)), false));
    assert!(far.refused.is_empty() && !far.told.is_empty(), "{far:?}");
    // A rollback is held as well.
    assert!(!judged(&season, &[("main = 178", "main = 170")], (None, true)).refused.is_empty());
    // Closed, what ran is allowed again, and less than it is leaner after lean until something ran.
    let closed = format!("cause = \"seal\"\nmended = \"seal\"\n{seized}");
    let season = Season::new().run_with(read(WHOLE), &closed);
    let down = judged(&season, &[("main = 178", "main = 176")], (None, false));
    let words = down.refused[0].sentence.without_commands();
    assert!(words.starts_with("Leaner at full throttle than what ran lean"), "{words}");
    let mends = |typed: &Typed| matches!(typed, Typed::Command(Command::MendRun(..)));
    assert!(!down.way_out.typed().any(mends), "{:?}", down.way_out);
    let far = judged(&season, &[("main = 178", "main = 176")], (Some(&air(60.0)), false));
    assert!(far.refused.is_empty(), "{far:?}");
}

/// A run whose air nobody wrote down holds in any: no needle makes up for a smaller main jet then either.
#[test]
fn a_smaller_main_behind_a_richer_needle_is_refused_without_an_air_too() {
    const NEEDLE: &str = "[jetting]\ncarburetor_bore = \"38 mm\"\nmain = 178\nmain_numbered_by = \"bore\"\nmain_series = \"main-bore\"\n\
        needle = \"n2\"\nclip = 2\nneedle_jet = \"2.68 mm\"\nseat_to_needle_jet = \"26 mm\"\n";
    let season = Season::new().run_with(read(NEEDLE), "notes = \"seized\"\n[verdict]\nfull = \"lean\"\n");
    let (before, after) =
        (read(NEEDLE), changed(NEEDLE, &[("main = 178", "main = 174"), ("clip = 2", "clip = 5")]));
    let proposal = Proposal {
        bike: "moth",
        before: Some(&before),
        after: &after,
        air: None,
        back: false,
        advised: false,
        kept: None,
        moves_nothing: false,
    };
    let holds = season.holds_of(&after);
    assert!(holds.holds[0].air().is_none());
    let step = Step::between(&before, &after, &season.tables());
    let case = Case {
        step,
        since_run: None,
        held_before: Vec::new(),
        engine_was_elsewhere: false,
        lean_beside: None,
        opened_beside: None,
        besides: Vec::new(),
        holds,
        proposal: &proposal,
        before: &before,
        tables: season.tables(),
        trade: Trade::default(),
    };
    assert!(case.smaller_main().is_some());
    assert!(!case.judgement().refused.is_empty());
}

#[test]
fn two_things_at_once_are_refused() {
    let season = Season::new().run_with(read(WHOLE), &ran("full = \"right\"", 20.0));
    let both = judged(&season, &[("main = 178", "main = 176"), ("[20, 18]", "[20, 18.5]")], (None, false));
    assert!(both.refused[0].sentence.begins_with("Two things"), "{both:?}");
    let one = judged(&season, &[("main = 178", "main = 176"), ("[20, 18]", "[20, 17.5]")], (None, false));
    assert!(one.refused.is_empty(), "{one:?}");
    assert!(one.told[0].sentence().contains("the last run was right at full throttle"), "{one:?}");
    let richer = judged(&season, &[("main = 178", "main = 180"), ("[20, 18]", "[20, 18.5]")], (None, false));
    assert!(richer.refused.is_empty(), "{richer:?}");
}

#[test]
fn an_earlier_spark_after_a_lean_run_is_refused() {
    let lean = Season::new().run_with(read(WHOLE), &ran("full = \"slightly-lean\"", 20.0));
    let spark = [("base = 15", "base = 16")];
    let told = judged(&lean, &spark, (None, false));
    assert!(told.refused[0].sentence.begins_with("After a lean run"), "{told:?}");
    // A little lean at half throttle is not the load that an earlier spark is about.
    let half = Season::new().run_with(read(WHOLE), &ran("full = \"right\"\nhalf = \"slightly-lean\"", 20.0));
    assert!(judged(&half, &spark, (None, false)).refused.is_empty());
}

#[test]
fn many_sizes_at_once_are_refused_but_said_only_of_a_setup_that_ran() {
    let season = Season::new();
    let far = [("main = 178", "main = 172")];
    assert!(
        judged(&season, &far, (None, false)).refused[0]
            .sentence
            .without_commands()
            .contains("3 sizes leaner")
    );
    let back = judged(&season, &far, (None, true));
    assert!(back.refused.is_empty() && back.told[0].urgent, "{back:?}");
    assert!(judged(&season, &[("main = 178", "main = 174")], (None, false)).refused.is_empty());
}

#[test]
fn without_needle_data_the_clip_is_held_by_what_was_turned() {
    let season =
        Season::new().run_with(read(WHOLE), &ran("full = \"right\"\nhalf = \"slightly-lean\"", 20.0));
    let up = judged(&season, &[("clip = 3", "clip = 2")], (None, false));
    assert!(up.refused[0].sentence.begins_with("Nothing leaner at half throttle"), "{up:?}");
    assert!(judged(&season, &[("clip = 3", "clip = 4")], (None, false)).refused.is_empty());
    // Put back it is no other step: what says that nothing leaner goes is no remark.
    let back = judged(&season, &[("clip = 3", "clip = 2")], (None, true));
    assert!(back.refused[0].sentence.begins_with("Nothing leaner at half throttle"), "{back:?}");
    // A half throttle that was lean, and not a little, gets no smaller main jet either.
    let lean = Season::new().run_with(read(WHOLE), &ran("full = \"right\"\nhalf = \"lean\"", 20.0));
    let down = judged(&lean, &[("main = 178", "main = 176")], (None, false));
    assert!(down.refused[0].sentence.begins_with("Nothing leaner at half throttle"), "{down:?}");
    // Main jet and screw are for other throttles.
    assert!(judged(&season, &[("air_screw = 1.5", "air_screw = 2")], (None, false)).refused.is_empty());
    assert!(judged(&season, &[("main = 178", "main = 176")], (None, false)).refused.is_empty());
}
