//! How each command is typed that the floors below name.

use crate::notebook::guidance::{Command, GitCommand, OutingChange};

/// A command of this program, between the signs that set it apart.
pub(super) fn command(command: &Command) -> String {
    format!("`reedbook {}`", typed(command))
}

/// A value as a shell takes it.
fn quoted(value: &str) -> String {
    let is_plain = |letter: char| letter.is_alphanumeric() || "._-%+/:,".contains(letter);
    if value.chars().all(is_plain) { value.to_owned() } else { format!("\"{value}\"") }
}

fn typed(command: &Command) -> String {
    let bike_or = |bike: &Option<String>| bike.clone().unwrap_or_else(|| "BIKE".to_owned());
    match command {
        Command::MakeGarage => "garage new DIR".into(),
        Command::CheckGarage => "garage check".into(),
        Command::MakeBike(bike) => format!("bike new {}", bike.as_deref().unwrap_or("NAME")),
        Command::ListBikes => "bike list".into(),
        Command::BringBikeBack(bike) => format!("bike retire {} --back", bike_or(bike)),
        Command::MakeEngine => "engine new NAME".into(),
        Command::MakeAnotherEngine => "engine new".into(),
        Command::ListEngines => "engine list".into(),
        Command::Change => "change".into(),
        Command::ChangeBike(bike) => format!("change {bike}"),
        Command::RecordSetup(bike) => format!("change {} --why \"…\"", bike_or(bike)),
        Command::SayEngine(bike) => format!("change {bike} engine=NAME --why \"…\""),
        Command::PutIn { bike, engine } => format!("change {bike} engine={engine} --why \"…\""),
        Command::PutInWithMain { bike, engine, main } => {
            format!("change {bike} engine={engine} jetting.main={main} --why \"…\"")
        }
        Command::TakeOverReadings { bike, readings, day } => {
            let readings: Vec<_> =
                readings.iter().map(|(field, read)| format!("{field}=\"{read}\"")).collect();
            format!("change {bike} {} --why \"as measured in the build of {day}\"", readings.join(" "))
        }
        Command::RecordAsItRan { bike, fields, despite } => {
            let fields: Vec<_> =
                fields.iter().map(|(field, was)| format!("{field}={}", quoted(was))).collect();
            let ran_so = if *despite { " --sure --despite \"it ran so\"" } else { "" };
            format!("change {bike} {} --why \"as it ran\"{ran_so}", fields.join(" "))
        }
        Command::ChangeMain(bike) => format!("change {bike} main=…"),
        Command::PutNewestBack(bike) => format!("rollback {bike} latest --lose-edits"),
        Command::History(None) => "history".into(),
        Command::History(Some(bike)) => format!("history {bike}"),
        Command::ShowSetup { bike, number } => format!("show {bike} {number}"),
        Command::MarkProven(bike) => format!("proven {bike} NUMBER"),
        Command::WithdrawMark(bike) => format!("proven {bike} NUMBER --withdraw"),
        Command::Jobs => "job".into(),
        Command::JobDone => "job done".into(),
        Command::KeepAir { is_placed: true } => "air TEMP BARO HUMIDITY --keep".into(),
        Command::KeepAir { is_placed: false } => "air TEMP BARO HUMIDITY --keep --place PLACE".into(),
        Command::KeepAirThere => "air … --keep".into(),
        Command::IgnitionByTravel => "ignition BIKE --travel".into(),
        Command::LoadFuelMap => "map load BIKE fuel FILE --record".into(),
        Command::AddOuting(bike) => format!("outing add {bike}"),
        Command::LogRun(bike) => format!("outing add {bike} full=right --place \"…\""),
        Command::ListOutingsInFull(bike) => format!("outing list {bike} -v"),
        Command::ListOutings(None) => "outing list".into(),
        Command::ListOutings(Some(bike)) => format!("outing list {bike}"),
        Command::ShowOuting => "outing show".into(),
        Command::ImportElsewhere => "--garage DIR outing import FILE".into(),
        Command::MendOuting(bike, id, change) => format!("outing edit {bike} {id}{}", mended(*change)),
        Command::MendRun(run, change) => format!("outing edit {run}{}", mended(*change)),
        Command::RemoveOuting { bike, id } => format!("outing remove {bike} {id}"),
        Command::Parts => "part".into(),
        Command::MakePart => "part add NAME --kind KIND".into(),
        Command::MakeAnotherPart => "part add".into(),
        Command::ListParts(None) => "part list".into(),
        Command::ListParts(Some(engine)) => format!("part list --engine {engine}"),
        Command::ShowPart(part) => format!("part show {part}"),
        Command::FitPart(part) => format!("part fit {part} ENGINE"),
        Command::MovePart { part, engine, at } => {
            let at = at.as_ref().map(|at| format!(" --at {at}")).unwrap_or_default();
            format!("part move {part} {engine}{at}")
        }
        Command::RemovePart(part) => format!("part remove {}", part.as_deref().unwrap_or("…")),
        Command::RenewPart(part) => format!("part renew {part}"),
        Command::MendPart(part) => format!("part edit {part} past_hours=0"),
        Command::Builds => "build".into(),
        Command::BeginBuild(engine) => format!("build new {engine}"),
        Command::BeginBuildOfScope(engine) => format!("build new {engine} --scope …"),
        Command::TickStep(engine) => format!("build tick {engine} STEP"),
        Command::ListSteps(engine) => format!("build steps {engine}"),
        Command::ShowBuild(engine) => format!("build show {engine}"),
        Command::ListBuilds(engine) => format!("build list {engine}"),
        Command::MeasureBuild { engine, cylinder } => {
            let at = cylinder.as_ref().map(|name| format!("{name}.")).unwrap_or_default();
            format!("build measure {engine} {at}FIELD=VALUE")
        }
        Command::Share => "share".into(),
        Command::ShareWith => "share --with FOLDER".into(),
        Command::ShareWithNew => "share --with FOLDER --new".into(),
        Command::ShareBefore => "share --before".into(),
        Command::MendGarage => "garage fix".into(),
        Command::MendFile(file) => format!("garage fix {}", quoted(file)),
        Command::ShareRewritten => "share --anyway".into(),
        Command::ShareKeepWhy(side, file) => format!("share --keep {side} {file} --why \"…\""),
    }
}

/// What is mended of an outing, after its name.
fn mended(change: OutingChange) -> String {
    let given = match change {
        OutingChange::SetupOf(number) => return format!(" --setup {number}"),
        OutingChange::AsItStands => "",
        OutingChange::Anything => " …",
        OutingChange::Setup => " --setup NUMBER",
        OutingChange::NewestSetup => " --setup latest",
        OutingChange::Hours => " hours=…",
        OutingChange::Air => " --temp … --baro … --humidity …",
        OutingChange::PlaceAndAir => " --place … --temp … --baro … --humidity …",
        OutingChange::Pressure => " --baro …",
        OutingChange::CauseAndMend => " --cause \"…\" --fixed \"…\"",
        OutingChange::NotTheEngine => " --cause \"not the engine\"",
        OutingChange::Date => " --date …",
        OutingChange::Right => " full=right",
    };
    given.to_owned()
}

/// A command of git, between the signs that set it apart.
pub(super) fn git(command: &GitCommand) -> String {
    format!("`git {}`", typed_to_git(command))
}

fn typed_to_git(command: &GitCommand) -> String {
    match command {
        GitCommand::Trust(folder) => format!("config --global --add safe.directory {folder}"),
        GitCommand::Abort(operation) => format!("{operation} --abort"),
        GitCommand::Switch(None) => "switch -".into(),
        GitCommand::Switch(Some(branch)) => format!("switch {branch}"),
        GitCommand::Init => "init".into(),
        GitCommand::LookThrough => "fsck".into(),
        GitCommand::Status => "status".into(),
        GitCommand::UserName => "config --global user.name \"…\"".into(),
        GitCommand::Show => "show".into(),
        GitCommand::BringBack(path) => format!("checkout HEAD -- {path}"),
        GitCommand::ResetIndex(path) => format!("reset -q -- {path}"),
        GitCommand::Add(path) => format!("add {path}"),
        GitCommand::Commit(path) => format!("commit -m \"…\" {path}"),
        GitCommand::WholeCheckout => "sparse-checkout disable".into(),
        GitCommand::BringTheRest => "fetch --unshallow".into(),
        GitCommand::BringWhatWasLeftOut => "fetch --refetch --no-filter".into(),
        GitCommand::PlainIndex => "update-index --no-split-index".into(),
        GitCommand::SigningKey => "config --global user.signingkey ~/.ssh/id_ed25519.pub".into(),
        GitCommand::SignBySsh => "config --global gpg.format ssh".into(),
        GitCommand::ShowSignatures => "log --show-signature".into(),
        GitCommand::NoProgram => "update-index --chmod=-x".into(),
        GitCommand::BringBranchBack(branch, commit) => format!("update-ref {branch} {commit}"),
    }
}
