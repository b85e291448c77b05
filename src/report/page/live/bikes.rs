//! All bikes, and one bike as it stands with its jobs to be ticked.

use maud::{Markup, html};

use super::super::paper::spoken_against;
use super::super::shell::{text, with_arrows};
use super::{PageFrame, Pen, kept, of_bike, plain, signed};
use crate::report::history::now::NowAnswer;
use crate::report::out::frame::FramePart;
use crate::report::{Screen, capital};
use crate::store::{BikeJobs, OpenJob};

/// The bikes, each with what is to be done at it.
pub fn bikes(place: &PageFrame<'_>, name: &str, answer: &NowAnswer<'_>) -> String {
    let lines = answer.lines();
    let body = html! {
        h1 { (text(name)) }
        @if lines.is_empty() { p.hands { "No bikes yet. On the laptop: " code { "reedbook bike new NAME" } } }
        ul.bikes {
            @for line in &lines {
                li { a href=(PageFrame { bike: Some(&line.bike), ..place.clone() }.address("")) {
                    span.do { b { (capital(&text(&line.bike))) }
                        @if !line.to_do.is_empty() { ": " (line.to_do) }
                        @else if line.stops.is_empty() { ": nothing to do" } }
                    @for stop in &line.stops { span.stop { (kept(&with_arrows(&without_commands(stop)))) } }
                    @if line.unfinished {
                        "not all of " (kept(&format!("setup {}", line.setup))) " is on it yet"
                        @if !line.on_it.is_empty() { "; on it: " (kept(&line.on_it)) }
                    } @else {
                        (kept(&format!("setup {}", line.setup))) @if !line.on_it.is_empty() { ": " (kept(&line.on_it)) }
                    }
                    br;
                    "last run " (kept(&line.last_run))
                } }
            }
        }
    };
    place.page(&text(name), &body)
}

/// A text without the sentences that lead to something to be typed: they stand on the bike's own page.
fn without_commands(words: &str) -> String {
    let start = words.find('`').and_then(|at| words.get(..at)).unwrap_or(words);
    let whole = start.rfind(". ").filter(|_| start.len() < words.len()).map_or(start.len(), |at| at + 1);
    start[..whole].trim_end().to_owned()
}

/// A bike as it stands: what must be done before it runs, then what is on it.
pub fn bike(place: &PageFrame<'_>, screen: &Screen, answer: &NowAnswer<'_>, jobs: &BikeJobs) -> String {
    let bike = place.bike.unwrap_or_default();
    let Some(on_it) = answer.on_a_sheet(screen) else { return place.page("Bike", &html! {}) };
    let open = jobs.open().count();
    let setup = answer.lines().into_iter().next().map(|line| line.setup).unwrap_or_default();
    let heading = on_it.heading();
    let (stops, rest): (Vec<FramePart>, Vec<FramePart>) =
        on_it.before.into_iter().partition(|part| matches!(part, FramePart::Stop(_)));
    let body = html! {
        h1 { (of_bike(bike, &format!("setup {setup}"))) }
        @match open {
            0 => p.hands { "No job of its setup is open." },
            1 => p.hands { "1 job before it runs" @if place.pen.is_some() { ": press it when it is done" } },
            _ => p.hands { (open) " jobs before it runs" @if place.pen.is_some() { ": press each when it is done" } },
        }
        (ticks(place, jobs, &stops))
        (plain(place, &stops))
        (plain(place, &rest))
        @if names_steps(stops.iter().chain(&rest)) {
            p { a.button href=(place.address("/build")) { "The steps of the build" } }
        }
        h2 { (heading) }
        @if let Some(why) = &on_it.why { p { (kept(why)) } }
        table.rows { @for (name, words) in &on_it.rows { tr { th { (text(name)) } td { (kept(words)) } } } }
        h2 { "The air" }
        (plain(place, &answer.air_on_a_page(screen)))
        p { a.button href=(place.address("/jets")) { "What this air wants" } }
    };
    place.page(&of_bike(bike, "now"), &body)
}

/// Whether it is said of a build that steps of it are open.
fn names_steps<'p>(mut parts: impl Iterator<Item = &'p FramePart>) -> bool {
    parts.any(|part| match part {
        FramePart::Stop(words) | FramePart::Know(words) => {
            words.contains(" open for after the first run") || words.contains(" open before")
        }
        _ => false,
    })
}

/// What a job is known by on a page that may be older than the list: its number, and what is done.
pub(super) fn job_value(job: &OpenJob) -> String {
    format!("{} {}", job.number, job.item.what)
}

fn ticks(place: &PageFrame<'_>, jobs: &BikeJobs, stops: &[FramePart]) -> Markup {
    let list = |pen: Option<&Pen>| {
        html! {
            ul.ticks {
                @for job in &jobs.jobs {
                    @let done = job.done.is_some();
                    li {
                        @if pen.is_some() {
                            button name=(if done { "undo" } else { "done" }) value=(job_value(job)) { (label(job, stops)) }
                        } @else { div { (label(job, stops)) } }
                    }
                }
            }
        }
    };
    html! {
        @match place.pen {
            Some(pen) => form method="post" action=(place.address("/jobs")) { (signed(pen)) (list(Some(pen))) },
            None => (list(None)),
        }
    }
}

fn label(job: &OpenJob, stops: &[FramePart]) -> Markup {
    let what = kept(&job.item.what);
    html! {
        @if job.done.is_some() { span.box { "\u{2611}" } "done: " (what) }
        @else {
            span.box { "\u{2610}" }
            @if let Some(against) = spoken_against(&job.item.what, stops) { b { (against) } }
            (what)
        }
    }
}
