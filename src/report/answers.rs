//! The answers of `--json` as schemas, made of the very structs that are written.

use schemars::generate::SchemaSettings;
use schemars::transform::{Transform, transform_subschemas};
use schemars::{JsonSchema, Schema};
use serde_json::{Map, Value as Json, json};

use super::air::reading::AirReport;
use super::building::build::BuildAnswer;
use super::building::compare::BuildComparison;
use super::building::fit::FitAnswer;
use super::building::list::BuildListAnswer;
use super::building::measure::BuildMissingAnswer;
use super::building::steps::BuildStepsAnswer;
use super::engine::fuel::FuelAnswer;
use super::engine::head::HeadAnswer;
use super::engine::ignition::IgnitionAnswer;
use super::engine::intake::IntakeAnswer;
use super::engine::package::PackageAnswer;
use super::engine::packages::PackagesAnswer;
use super::engine::pipe::PipeAnswer;
use super::engine::ports::PortsAnswer;
use super::guide::GuideAnswer;
use super::history::bikes::{BikeAnswer, EngineAnswer};
use super::history::check::CheckAnswer;
use super::history::found::FindAnswer;
use super::history::garages::{DemoMade, GarageMade};
use super::history::jobs::JobAnswer;
use super::history::maps::MapAnswer;
use super::history::now::NowAnswer;
use super::history::outing::OutingAnswer;
use super::history::outing::imported::ImportAnswer;
use super::history::outing::sheet::SessionSheetAnswer;
use super::history::setups::HistoryAnswer;
use super::history::setups::compare::CompareAnswer;
use super::history::setups::proven::ProvenAnswer;
use super::history::setups::recorded::ChangeAnswer;
use super::history::setups::rolled_back::RollbackAnswer;
use super::history::setups::show::ShowAnswer;
use super::jetting::answer::RejetAnswer;
use super::jetting::card::CardAnswer;
use super::jetting::card::plan::PlanAnswer;
use super::jetting::cautions::CautionsAnswer;
use super::jetting::cells::TrimMapAnswer;
use super::jetting::in_part::InPart;
use super::jetting::machine::MachineAnswer;
use super::out::each::OneOrEach;
use super::out::trouble::{ErrorAnswer, NothingAnswer};
use super::page::pocket::PocketAnswer;
use super::page::sheet::SheetAnswer;
use super::page::written::PageAnswer;
use super::parts::done::PartDoneAnswer;
use super::parts::due::PartDueAnswer;
use super::parts::life::PartLifeAnswer;
use super::parts::list::PartListAnswer;
use super::parts::show::PartShowAnswer;
use super::parts::wear::PartWearAnswer;
use super::sharing::before::{BeforeAnswer, FilesBackAnswer};
use super::sharing::handed_engine::EngineHandoverAnswer;
use super::sharing::handover::HandoverAnswer;
use super::sharing::share::ShareAnswer;

/// The version of JSON Schema.
const DRAFT: &str = "https://json-schema.org/draft/2020-12/schema";

/// The schema of every answer by the name of its file, in `schema/answers/`.
pub fn schemas() -> Vec<(&'static str, Json)> {
    vec![
        of::<AirReport>("air", "air --json"),
        of::<BikeAnswer<'_>>("bike", "bike list, new and retire --json"),
        of::<CautionsAnswer>("cautions", "cautions --json"),
        of::<ChangeAnswer<'_>>("change", "change BIKE --json"),
        of::<CheckAnswer<'_>>("check", "garage check --json"),
        of::<CompareAnswer<'_>>("compare", "compare BIKE --json"),
        of::<DemoMade>("demo", "demo --json"),
        of::<EngineAnswer<'_>>("engine", "engine list, new and owner --json"),
        of::<ErrorAnswer<'_>>("error", "with --json, an error on standard error"),
        of::<FilesBackAnswer<'_>>("files-back", "garage fix and share --put-back --json"),
        of::<FindAnswer<'_>>("find", "find --json"),
        of::<OneOrEach<FuelAnswer>>("fuel", "fuel BIKE --json"),
        of::<GarageMade>("garage", "garage new --json"),
        of::<GuideAnswer>("guide", "guide --json"),
        of::<HandoverAnswer<'_>>("handover", "handover and handover read --json, of a setup"),
        of::<EngineHandoverAnswer<'_>>(
            "handover-engine",
            "handover engine and handover read --json, of an engine",
        ),
        of::<OneOrEach<HeadAnswer>>("head", "head BIKE --json"),
        of::<HistoryAnswer<'_>>("history", "history BIKE --json"),
        of::<OneOrEach<IgnitionAnswer>>("ignition", "ignition BIKE --json"),
        of::<OneOrEach<IntakeAnswer>>("intake", "intake BIKE --json"),
        of::<JobAnswer<'_>>("job", "job, job list, done and undo --json"),
        of::<MapAnswer<'_>>("map", "map … BIKE FIELD --json"),
        of::<NothingAnswer<'_>>("nothing", "--json of what writes, where all is so already"),
        of::<NowAnswer<'_>>("now", "now --json"),
        of::<OutingAnswer<'_>>("outing", "outing add, edit, remove, list and show --json"),
        of::<ImportAnswer<'_>>("outing-import", "outing import FILE --json"),
        of::<OneOrEach<PackageAnswer, PackagesAnswer>>("package", "package BIKE --json"),
        of::<OneOrEach<PipeAnswer>>("pipe", "pipe BIKE --json"),
        of::<OneOrEach<PortsAnswer>>("ports", "ports BIKE --json"),
        of::<ProvenAnswer<'_>>("proven", "proven BIKE --json"),
        of::<OneOrEach<RejetAnswer<'_>, MachineAnswer<'_>>>("rejet", "rejet BIKE --json"),
        of::<OneOrEach<CardAnswer, InPart<CardAnswer>>>("rejet-card", "rejet BIKE --card --json"),
        of::<OneOrEach<TrimMapAnswer<'_>>>("rejet-cells", "rejet BIKE --cells --json"),
        of::<OneOrEach<PlanAnswer, InPart<PlanAnswer>>>("rejet-plan", "rejet BIKE --plan FILE --json"),
        of::<RollbackAnswer<'_>>("rollback", "rollback BIKE --json"),
        of::<ShareAnswer<'_>>("share", "share --json"),
        of::<BeforeAnswer<'_>>("share-before", "share --before --json"),
        of::<SheetAnswer>("sheet", "sheet BIKE --json"),
        of::<PageAnswer>("sheet-page", "sheet build, card and van --json, and sheet BIKE --png"),
        of::<PocketAnswer>("sheet-pocket", "sheet pocket --json"),
        of::<SessionSheetAnswer>("sheet-session", "sheet session --json"),
        of::<ShowAnswer<'_>>("show", "show BIKE --json"),
        of::<BuildAnswer>("build", "build new, measure and show --json"),
        of::<BuildComparison>("build-compare", "build compare ENGINE --json"),
        of::<BuildListAnswer>("build-list", "build list ENGINE --json"),
        of::<BuildMissingAnswer>("build-missing", "build measure ENGINE --json, without readings"),
        of::<BuildStepsAnswer>("build-steps", "build steps and tick --json"),
        of::<FitAnswer>("fit", "fit bearing and zone --json"),
        of::<PartDoneAnswer>(
            "part-done",
            "part add, fit, move, remove, inspect, ran, renew, fail, retire and edit --json",
        ),
        of::<PartDueAnswer>("part-due", "part due --json"),
        of::<PartLifeAnswer>("part-life", "part life KIND --json"),
        of::<PartListAnswer>("part-list", "part list --json"),
        of::<PartShowAnswer>("part-show", "part show --json"),
        of::<PartWearAnswer>("part-wear", "part wear ENGINE FIGURE --json"),
    ]
}

/// The schema of one answer; `command` is what is typed for it.
fn of<T: JsonSchema>(name: &'static str, command: &str) -> (&'static str, Json) {
    let settings =
        SchemaSettings::draft2020_12().for_serialize().with(|settings| settings.inline_subschemas = true);
    let schema = settings.with_transform(Closed).into_generator().into_root_schema_for::<T>();
    let mut schema = schema.to_value();
    let mut document = Map::new();
    document.insert("$schema".to_owned(), json!(DRAFT));
    document.insert("title".to_owned(), json!(format!("reedbook {command}")));
    for first in ["$schema", "title"] {
        schema.as_object_mut().and_then(|fields| fields.shift_remove(first));
    }
    document.extend(schema.as_object().cloned().unwrap_or_default());
    (name, Json::Object(document))
}

/// An object has the fields that are named, and none beside them; its words stand on one line each.
#[derive(Debug, Clone)]
struct Closed;

impl Transform for Closed {
    fn transform(&mut self, schema: &mut Schema) {
        transform_subschemas(self, schema);
        // A description is one line, however its comment is broken.
        if let Some(Json::String(words)) = schema.get_mut("description") {
            *words = words.replace('\n', " ");
        }
        let is_named = schema.get("properties").is_some() && schema.get("additionalProperties").is_none();
        if is_named {
            schema.insert("additionalProperties".to_owned(), json!(false));
        }
    }
}
