//! The pocket page: all bikes on one page for a phone without a network. What is known of each bike is markup, readable without the
//! script; the script (`sums.js`, `qr.js` and `page.js`) looks answers up in the table that the program made ([`answers`]) and keeps what is
//! noted for `outing import`. All data is JSON in an element that nothing runs, its `<` written by their number.

mod answers;

use std::path::Path;

use maud::{DOCTYPE, Markup, PreEscaped, html};
use schemars::JsonSchema;
use serde::Serialize;

use self::answers::Wants;
use super::live::laid_out;
use super::paper::spoken_against;
use super::shell::{GENERATOR, in_a_form, kept, text};
use crate::advice::asking::Question;
use crate::advice::cautions::STANDING;
use crate::advice::conditions::asked::{AskedFrom, AskedOfAir};
use crate::advice::learning::may_say_lean;
use crate::notebook::fields::names::is_hidden;
use crate::notebook::section_of;
use crate::notebook::{Mixture, PHONE_NOTES_VERSION, When, ZONES};
use crate::quantity::{Dimension, Measure, Units};
use crate::report::history::jobs::JobEntry;
use crate::report::history::now::NowAnswer;
use crate::report::history::outing::OutingEntry;
use crate::report::history::outing::text::{
    LEAN, LEAN_BELOW_FULL, SLIGHTLY_LEAN, SLIGHTLY_LEAN_BELOW_FULL, said_to_be_lean,
};
use crate::report::out::ways;
use crate::report::parts::due::PartDueAnswer;
use crate::report::words::layout::capital;
use crate::report::words::sizes::height_unit;
use crate::report::{Screen, Trouble};
use crate::store::{BikeJobs, OpenJob, OutingRecord, PlaceRecord, SetupRecord};

/// How the page looks, and what it does.
const STYLE: &str = include_str!("pocket.css");
/// The sums first, what draws a picture of dots, then the page that asks them: one script.
const SCRIPT: &str = concat!(include_str!("sums.js"), include_str!("qr.js"), include_str!("page.js"));

/// Words for a plug (common practice, no source).
pub(super) const PLUG: [&str; 6] = ["white", "light grey", "light tan", "tan", "dark brown", "black"];

/// A pocket page that was written.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PocketAnswer {
    /// Folder names of the bikes on it.
    pub bikes: Vec<String>,
    /// The file that was written.
    pub file: String,
    /// Its size, bytes.
    pub bytes: usize,
    /// Bikes for which it has no answers, or not for each cylinder, with what the program says.
    pub without_answers: Vec<String>,
}

impl PocketAnswer {
    /// Of a page that was written to a file.
    pub fn of(pocket: &Pocket<'_>, file: &Path, bytes: usize) -> Self {
        let without = |bike: &PocketBike<'_>| -> Vec<String> {
            let refused = bike.wants.iter().filter_map(BikeWants::refused);
            refused.map(|words| format!("{} without answers: {words}", bike.bike)).collect()
        };
        Self {
            bikes: pocket.bikes.iter().map(|bike| bike.bike.to_owned()).collect(),
            file: file.display().to_string(),
            bytes,
            without_answers: pocket.bikes.iter().flat_map(without).collect(),
        }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = vec![screen.wrap(
            &format!(
                "{} is written, {} kB: send it to the phone and open it there. What is noted on it comes back with `reedbook outing import FILE`.",
                text(&self.file),
                self.bytes.div_ceil(1_000)
            ),
            2,
        )];
        lines.extend(self.without_answers.iter().map(|words| screen.known(text(words))));
        lines.join("\n")
    }
}

/// A bike on the page.
pub struct PocketBike<'a> {
    /// Its folder name.
    pub bike: &'a str,
    /// Its newest setup; none before the first.
    pub setup: Option<SetupRecord>,
    /// The bike at a glance.
    pub now: NowAnswer<'a>,
    /// Its jobs.
    pub jobs: &'a BikeJobs,
    /// Its newest outings, the newest first.
    pub outings: Vec<OutingRecord>,
    /// Its parts that are due.
    pub due: PartDueAnswer,
    /// What it wants in every air.
    pub wants: Vec<BikeWants>,
    /// What is asked of an air whose place is not said.
    pub asked: AskedOfAir,
    /// Its cylinders by name where it has several.
    pub cylinders: Vec<String>,
}

/// What a bike, or one of its cylinders, wants in every air.
pub struct BikeWants(Wants);

impl BikeWants {
    /// By the program's own answers, each with the part that is to be changed before it runs.
    pub fn of(
        cylinder: Option<&str>,
        question: Result<(&Question<'_>, Option<&str>), Trouble>,
        screen: &Screen,
    ) -> Result<Self, Trouble> {
        Wants::of(cylinder, question, &screen.on_paper()).map(Self)
    }

    /// Why there is no answer, in a line; none where there is one.
    pub fn refused(&self) -> Option<String> {
        self.0.why_not()
    }
}

/// What the page is made of.
pub struct Pocket<'a> {
    /// What the garage is known by: its first commit.
    pub garage: String,
    /// What the garage is called.
    pub name: Option<String>,
    /// When it is made.
    pub made: When,
    /// Known places, each with what is asked of an air there.
    pub places: Vec<(PlaceRecord, AskedOfAir)>,
    /// What is asked of an air at a place that is not known.
    pub elsewhere: AskedOfAir,
    /// The bikes.
    pub bikes: Vec<PocketBike<'a>>,
    /// A number that nobody can have known before the page was made: what bears it is run, nothing else.
    pub once: String,
}

/// What the script reads.
#[derive(Debug, Serialize)]
struct Data<'a> {
    version: u32,
    garage: &'a str,
    made: String,
    made_s: i64,
    imperial: bool,
    places: Vec<PlaceData>,
    elsewhere: [Vec<AskedAbove>; 3],
    zones: [(&'static str, &'static str); ZONES.len()],
    verdicts: [(&'static str, &'static str, &'static str); 5],
    plug: [&'static str; PLUG.len()],
    /// What is asked, and what to do: each text once.
    words: Vec<String>,
    lean: LeanWords,
    bikes: Vec<BikeData<'a>>,
}

#[derive(Debug, Serialize)]
struct PlaceData {
    title: String,
    elevation_m: Option<f64>,
    asked: [Vec<AskedAbove>; 3],
}

/// From where on something is asked, the place of the question behind its value, and of what to do; both of an empty text where nothing is.
#[derive(Debug, Serialize)]
struct AskedAbove(f64, usize, usize);

/// What is asked of the pressure, the temperature and the humidity; its texts go into `words`.
fn asked(of: &AskedOfAir, words: &mut Vec<String>) -> [Vec<AskedAbove>; 3] {
    [&of.pressure, &of.temperature, &of.humidity].map(|all| {
        let one = |one: &AskedFrom| {
            let (question, instead) = one.words.clone().unwrap_or_default();
            // On the page a value stands in its field, not behind an option.
            let mut place = |said: String| answers::place_of(words, &text(&said));
            let (question, instead) = (place(question), place(in_a_form(&ways::worded(&instead))));
            AskedAbove((one.from * 100.0).round() / 100.0, question, instead)
        };
        all.iter().map(one).collect()
    })
}

/// What a lean run calls for, and how one is known.
#[derive(Debug, Serialize)]
struct LeanWords {
    lean: &'static str,
    slightly: &'static str,
    slightly_below: &'static str,
    below: &'static str,
    said: String,
    alone: Vec<&'static str>,
    together: Vec<(&'static str, &'static [&'static str])>,
    /// How words begin that sound lean, what is said of them where full throttle was not judged, and where it was not lean.
    looks: [&'static str; 9],
    unsaid: &'static str,
    sounds: &'static str,
}

#[derive(Debug, Serialize)]
struct BikeData<'a> {
    bike: &'a str,
    setup: Option<u32>,
    setup_id: Option<&'a str>,
    cylinders: Vec<String>,
    jobs: Vec<PocketJob<'a>>,
    wants: Vec<&'a Wants>,
    asked: [Vec<AskedAbove>; 3],
}

/// A job, and whether the answers of the page hang on it.
#[derive(Debug, Serialize)]
struct PocketJob<'a> {
    #[serde(flatten)]
    entry: JobEntry<'a>,
    /// It is of the setup, and the engine runs otherwise once it is done.
    moves: bool,
}

impl<'a> PocketJob<'a> {
    fn of(jobs: &'a BikeJobs, job: &'a OpenJob) -> Self {
        let entry = JobEntry::of(jobs, job);
        let moves = entry
            .of_a_field()
            .is_some_and(|field| !matches!(section_of(field), "gearing" | "extra" | "notes"));
        Self { entry, moves }
    }
}

/// How words begin that sound lean, for a page that cannot weigh a sentence (common practice, no source).
const SOUNDS_LEAN: [&str; 9] = ["lean", "weak", "white", "bone", "chalk", "hang", "hung", "starv", "bigger"];

/// A verdict as it is written, its sign and its words.
pub(super) fn verdicts() -> [(&'static str, &'static str, &'static str); 5] {
    let signs = ["<<", "<", "=", ">", ">>"];
    let mut at = signs.iter();
    Mixture::ALL.map(|mixture| (mixture.word(), *at.next().unwrap_or(&""), mixture.words()))
}

impl Pocket<'_> {
    /// The page.
    pub fn html(&self, screen: &Screen) -> String {
        let screen = &screen.on_paper();
        let policy = format!(
            "default-src 'none'; script-src 'nonce-{0}'; style-src 'nonce-{0}'; base-uri 'none'; form-action 'none'",
            self.once
        );
        let name = self.name.as_deref().map_or_else(|| "Garage".to_owned(), text);
        html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta http-equiv="Content-Security-Policy" content=(policy);
                    meta name="generator" content=(GENERATOR);
                    title { (name) ", in the pocket" }
                    style nonce=(self.once) { (PreEscaped(STYLE)) }
                }
                body {
                    header {
                        h1 { (name) }
                        p { "made " (self.made.short()) }
                        p #old .stop hidden {}
                        noscript { p.stop { "The script of this page does not run here: what is known of the bikes stands below, answers and notes need it." } }
                    }
                    nav {
                        div #bikes { @for bike in &self.bikes { button type="button" value=(bike.bike) { (text(bike.bike)) } } }
                        p #leads .scripted hidden { a href="#air" { "Air and jets" } a #to-jobs href="#bikes" { "To do" } a href="#log" { "Log" } a href="#notes" { "Send" } }
                    }
                    (self.air(screen.units()))
                    @for bike in &self.bikes { (bike.markup(screen)) }
                    (log())
                    (notes())
                    footer { p { b { "CAUTION " } (STANDING.join(" ")) } }
                    script #data type="application/json" { (PreEscaped(harmless(&self.data(screen)))) }
                    script nonce=(self.once) { (PreEscaped(SCRIPT)) }
                }
            }
        }
        .into_string()
    }

    /// The air as it is read, and what the bike wants in it.
    fn air(&self, units: Units) -> Markup {
        let unit = |dimension: Dimension| dimension.display(units).0;
        let height = height_unit(units);
        html! {
            section #air .scripted hidden {
                h2 { "What this air wants" }
                form #reading {
                    label { "Place" select name="place" {
                        option value="" { "not said" }
                        @for (place, _) in &self.places { option { (text(place.title())) } }
                        option value="+" { "another one" }
                    } }
                    label #other hidden { "Its name" input name="other" maxlength="80"; }
                    label { "Temperature in the shade, " (unit(Dimension::Temperature)) input name="temp" inputmode="text" autocomplete="off"; }
                    label { "Pressure from" select name="kind" {
                        option value="baro" { "a barometer at the track" }
                        option value="qnh" { "the altimeter setting (QNH)" }
                    } }
                    label { "Pressure, " (unit(Dimension::Pressure)) input name="pressure" inputmode="decimal" autocomplete="off"; }
                    label #height hidden { "Elevation of the track, " (height) input name="elevation" inputmode="text" autocomplete="off"; }
                    label { "Humidity, %" input name="humidity" inputmode="decimal" autocomplete="off"; }
                }
                p #felt {}
                div #answer aria-live="polite" {}
            }
        }
    }

    fn data(&self, screen: &Screen) -> Data<'_> {
        let (alone, together) = may_say_lean();
        let mut words = Vec::new();
        let places = self
            .places
            .iter()
            .map(|(place, of)| PlaceData {
                title: text(place.title()),
                elevation_m: place.place.elevation.as_ref().map(Measure::si),
                asked: asked(of, &mut words),
            })
            .collect();
        let elsewhere = asked(&self.elsewhere, &mut words);
        let bikes = self.bikes.iter().map(|bike| bike.data(&mut words)).collect();
        Data {
            version: PHONE_NOTES_VERSION,
            garage: &self.garage,
            made: self.made.to_string(),
            made_s: self.made.unix(),
            imperial: height_unit(screen.units()) == "ft",
            places,
            elsewhere,
            zones: ZONES.map(|(zone, _, _)| {
                (
                    zone,
                    match zone {
                        "idle" => "closed",
                        "eighth" => "1/8",
                        "quarter" => "1/4",
                        "half" => "1/2",
                        "three_quarters" => "3/4",
                        _ => "full",
                    },
                )
            }),
            verdicts: verdicts(),
            plug: PLUG,
            lean: LeanWords {
                lean: LEAN,
                slightly: SLIGHTLY_LEAN,
                slightly_below: SLIGHTLY_LEAN_BELOW_FULL,
                below: LEAN_BELOW_FULL,
                said: said_to_be_lean("The notes say", "\u{e000}"),
                alone,
                together,
                looks: SOUNDS_LEAN,
                unsaid: "The notes may say that it was lean, and full throttle was not judged: taken as lean until you say how it was. Read plug and piston before it is held open again.",
                sounds: "Full throttle was not judged lean, and the notes sound lean: read plug and piston again before anything leaner.",
            },
            words,
            bikes,
        }
    }
}

impl PocketBike<'_> {
    fn data(&self, words: &mut Vec<String>) -> BikeData<'_> {
        BikeData {
            bike: self.bike,
            setup: self.setup.as_ref().map(|setup| setup.number),
            setup_id: self.setup.as_ref().map(|setup| setup.id.as_str()),
            cylinders: self.cylinders.iter().map(|name| text(name)).collect(),
            jobs: self.jobs.jobs.iter().map(|job| PocketJob::of(self.jobs, job)).collect(),
            wants: self.wants.iter().map(|wants| &wants.0).collect(),
            asked: asked(&self.asked, words),
        }
    }

    /// What is known of it.
    fn markup(&self, screen: &Screen) -> Markup {
        let setup = self
            .setup
            .as_ref()
            .map_or_else(|| "nothing recorded".to_owned(), |setup| format!("setup {}", setup.number));
        let on_it = self.now.on_a_sheet(screen);
        html! {
            section .bike id=(format!("bike-{}", self.bike)) data-bike=(self.bike) {
                h2 { (capital(&text(self.bike))) ": " (setup) @if on_it.as_ref().is_some_and(|on_it| on_it.proven) { ", proven" } }
                @if let Some(on_it) = &on_it {
                    @if let Some(why) = &on_it.why { p { (kept(why)) } }
                    (laid_out(None, &on_it.before))
                }
                @if !self.jobs.jobs.is_empty() {
                    h3 id=(format!("jobs-{}", self.bike)) { "To do" }
                    ul .jobs { @for job in &self.jobs.jobs {
                        li { label { input type="checkbox" value=(job.number) checked[job.done.is_some()] disabled; span {
                            @if let Some(against) = on_it.as_ref().and_then(|on_it| spoken_against(&job.item.what, &on_it.before)) { b { (against) } }
                            (kept(&job.item.what))
                        } } }
                    } }
                }
                @if let Some(on_it) = &on_it {
                    details { summary { "On the bike" }
                        table { @for (name, words) in &on_it.rows { tr { th { (text(name)) } td { (kept(words)) } } } }
                    }
                }
                details { summary { "The last outings" }
                    ol { @for outing in &self.outings { li { (kept(&OutingEntry::of(outing).line(screen))) } } }
                    @if self.outings.is_empty() { p { "None is logged yet." } }
                }
                details { summary { "Due" } (laid_out(None, &self.due.on_a_sheet(screen))) }
            }
        }
    }
}

/// Where an outing is logged.
fn log() -> Markup {
    html! {
        section #log .scripted hidden {
            h2 { "Log an outing" }
            form #outing {
                div #who .ways {}
                div #zones {}
                p #plugs-are { "Plug looks" }
                div #plugs role="group" aria-labelledby="plugs-are" {}
                label { "Plug" input name="plug" maxlength="200"; }
                label { "Best lap" input name="lap" maxlength="40" placeholder="1:23.4"; }
                label { "Session" input name="session" maxlength="80"; }
                label { "Running time, min" input name="minutes" inputmode="decimal" autocomplete="off"; }
                label { "Note" textarea name="notes" rows="3" maxlength="2000" {} }
                p #goes {}
                button type="submit" { "Log it" }
            }
            p #logged role="status" {}
        }
    }
}

/// What was noted, and how it is sent.
fn notes() -> Markup {
    html! {
        section #notes .scripted hidden {
            h2 { "Noted here" }
            p #kept {}
            ul #list {}
            div .ways {
                button type="button" #share hidden { "Send" }
                button type="button" #save { "Save as a file" }
                button type="button" #copy { "Copy as text" }
                button type="button" #picture { "Show as a picture" }
                button type="button" #clear { "Clear what was saved or sent" }
            }
            p #sent role="status" {}
            div #dots hidden {}
            textarea #plain rows="4" readonly hidden aria-label="The notes as text" {}
        }
    }
}

/// Data as JSON in which nothing ends the element that it stands in.
fn harmless(data: &Data<'_>) -> String {
    let json = serde_json::to_string(data).unwrap_or_default();
    let mut harmless = String::with_capacity(json.len());
    for c in json.chars() {
        match c {
            '<' | '>' | '&' | '\u{2028}' | '\u{2029}' => {
                harmless.push_str(&format!("\\u{:04x}", u32::from(c)));
            }
            c if is_hidden(c) => harmless.push_str(&format!("\\u{:04x}", u32::from(c))),
            c => harmless.push(c),
        }
    }
    harmless
}
