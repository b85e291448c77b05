//! The van list: what is taken along to the next event, bike by bike, with a box for the pencil, and what the book does not know of it.

use maud::{Markup, html};

use super::fit::{Room, line_mm, lines};
use super::paper::on_paper;
use super::sheet::cautions;
use super::shell::{document_in, kept, parts, text};
use crate::advice::along::{Airs, JetsAlong, Sizes};
use crate::notebook::{Circuit, When};
use crate::quantity::trimmed;
use crate::report::history::now::NowAnswer;
use crate::report::out::frame::FramePart;
use crate::report::parts::due::PartDueAnswer;
use crate::report::words::layout::{capital, signed};
use crate::report::{Screen, Trouble, air_in_short};

/// What nobody writes down in a garage, so that no list can have it.
const NOT_IN_THE_BOOK: &str = "Not in the book: how many plugs, and jets of one size, lie in the box; how much fuel a day takes; tyres, chain, sprockets, tools, riding gear, papers.";

/// What can hurt on the way (common practice, no source).
const ON_THE_WAY: &str = "Fuel travels in closed cans made for it, tied down, away from flames and not with people; mind what the road and the event allow of it. A jet that stands here is a starting point: ask for the air of the day before it is fitted.";

/// What the list is made of.
pub struct VanSheet<'a> {
    /// The bikes.
    pub bikes: Vec<VanBike<'a>>,
    /// The place it is for; none where it is not said.
    pub place: Option<String>,
    /// When it is made.
    pub made: When,
}

/// A bike on the list.
pub struct VanBike<'a> {
    /// Its folder name.
    pub bike: &'a str,
    /// The airs that the jets are for; none where none is known.
    pub airs: Option<Airs>,
    /// What each of several cylinders wants, or why that is not known.
    pub jets: Vec<(Option<String>, Result<JetsAlong, Trouble>)>,
    /// The plug by its code, with its gap.
    pub plug: Option<String>,
    /// The fuel.
    pub fuel: Option<String>,
    /// The oil for so much of it.
    pub oil: Option<String>,
    /// The bike at a glance.
    pub now: NowAnswer<'a>,
    /// Its parts that are due.
    pub due: PartDueAnswer,
}

impl VanSheet<'_> {
    /// The bikes whose jets could not be found, with why.
    pub fn without(&self) -> Vec<String> {
        let refused = |bike: &VanBike<'_>| -> Vec<String> {
            let refused = bike.jets.iter().filter_map(|(_, jets)| jets.as_ref().err());
            refused
                .map(|trouble| format!("jets of {}: {}", bike.bike, trouble.message_and_help().0))
                .collect()
        };
        self.bikes.iter().flat_map(refused).collect()
    }

    /// The page, for A4 and Letter, or for A5 where it is to be small.
    pub fn html(&self, screen: &Screen, small: bool) -> String {
        let screen = &screen.on_paper();
        let to = self.place.as_deref().map(|place| format!(", to {}", text(place))).unwrap_or_default();
        let title = format!("For the van{to}");
        let body = html! {
            header {
                h1 { (title) }
                p { "made " (kept(&self.made.day())) }
            }
            main.van {
                p.wide.key { "Jets: " span.jet.wanted { "framed" } " what these airs want, from what is fitted first to what then; \"in it\" what is in the carburetor now; the others: one leaner, two richer." }
                @for bike in &self.bikes { (van_bike(bike, screen)) }
            }
            footer {
                p { (NOT_IN_THE_BOOK) }
                p { b { "CAUTION " } (ON_THE_WAY) }
                (cautions())
            }
        };
        document_in(&title, (small, self.letters(screen, small)), &body)
    }
}

impl VanSheet<'_> {
    /// How large its letters are in print, points.
    fn letters(&self, screen: &Screen, small: bool) -> f64 {
        let room = Room::of(small);
        let column = room.across / 2.0 - BETWEEN_MM;
        let height = |letters_pt: f64| {
            let of = |bike: &VanBike<'_>| {
                bike_lines(bike, screen, (column, letters_pt)) * line_mm(letters_pt) * LOOSE
            };
            self.bikes.chunks(2).map(|pair| pair.iter().map(of).fold(0.0, f64::max) + BETWEEN_MM).sum::<f64>()
        };
        room.fit(|letters_pt| [height(letters_pt), FOOT_MM]).letters_pt
    }
}

/// Lines that a bike takes in print.
fn bike_lines(bike: &VanBike<'_>, screen: &Screen, (column, letters_pt): (f64, f64)) -> f64 {
    let of = |words: &str| lines(words.chars().count(), column, letters_pt);
    let jets: f64 = bike
        .jets
        .iter()
        .filter_map(|(_, jets)| jets.as_ref().ok())
        .flat_map(|along| &along.sizes)
        .map(|sizes| HIGH * lines(sizes.sizes.len() * JET + CIRCUIT, column, letters_pt))
        .sum();
    let listed = bike
        .due
        .taken_along()
        .into_iter()
        .chain(bike.due.to_look_at())
        .chain(jobs_of(bike, screen).into_iter().flat_map(job_words));
    let listed: f64 = listed.map(|words| of(&words)).sum();
    let stops: f64 = stops_of(bike, screen)
        .iter()
        .map(|part| if let FramePart::Stop(words) = part { of(words) + 1.0 } else { 1.0 })
        .sum();
    // Titles, the airs, plug, fuel and oil.
    jets + listed + stops + of(&airs_words(bike, screen)) + TITLES
}

/// What a jet takes, letters, and the circuit before it; a line of jets by one of words; what is loose in the estimate.
const JET: usize = 9;
const CIRCUIT: usize = 10;
const HIGH: f64 = 1.5;
const LOOSE: f64 = 1.02;
/// Lines of titles, plug, fuel and oil.
const TITLES: f64 = 10.0;
/// Between two bikes, and what stands over and under all of them, mm.
const BETWEEN_MM: f64 = 5.0;
const FOOT_MM: f64 = 38.0;

/// What must not run as it is.
fn stops_of(bike: &VanBike<'_>, screen: &Screen) -> Vec<FramePart> {
    let said = bike.due.on_a_sheet(screen).into_iter();
    on_paper(said.filter(|part| matches!(part, FramePart::Stop(_))).collect())
}

/// Its open jobs, as boxes.
fn jobs_of(bike: &VanBike<'_>, screen: &Screen) -> Vec<FramePart> {
    let jobs = bike.now.on_a_sheet(screen).into_iter().flat_map(|on_it| on_it.jobs);
    jobs.filter(|part| matches!(part, FramePart::Boxes(_))).collect()
}

fn job_words(part: FramePart) -> Vec<String> {
    if let FramePart::Boxes(jobs) = part {
        jobs.into_iter().map(|(_, words)| words).collect()
    } else {
        Vec::new()
    }
}

fn van_bike(bike: &VanBike<'_>, screen: &Screen) -> Markup {
    let jobs = jobs_of(bike, screen);
    let due = bike.due.taken_along();
    let look = bike.due.to_look_at();
    let unknown = bike.due.hours_not_known();
    html! {
        section.bike {
            h2 { (text(bike.bike)) }
            (parts(&stops_of(bike, screen)))
            @for (cylinder, jets) in &bike.jets { (jets_of(cylinder.as_deref(), jets)) }
            p.source { (kept(&airs_words(bike, screen))) }
            table {
                tr { th { "plug" } td { @match &bike.plug { Some(plug) => { "☐ " (kept(plug)) }, None => "not written down" } } }
                tr { th { "fuel" } td { @match &bike.fuel { Some(fuel) => { "☐ " (kept(fuel)) }, None => "not written down" } } }
                @if let Some(oil) = &bike.oil { tr { th { "oil" } td { "☐ " (kept(oil)) } } }
            }
            h3 { "Parts that do not last the event" }
            @if due.is_empty() { p { "None that the book knows." } }
            @else { ul.boxes { @for part in &due { li { (kept(part)) } } } }
            @if !look.is_empty() { h3 { "To look at before the event" } ul.boxes { @for part in &look { li { (kept(part)) } } } }
            @if !unknown.is_empty() { p.know { "Hours left not known: " (text(&unknown.join(", "))) "." } }
            @if !jobs.is_empty() { h3 { "Open jobs" } (parts(&jobs)) }
        }
    }
}

fn jets_of(cylinder: Option<&str>, jets: &Result<JetsAlong, Trouble>) -> Markup {
    let at = cylinder.map(|name| format!("{} ", text(name))).unwrap_or_default();
    html! {
        @match jets {
            Err(trouble) => p.know { (text(&capital(&format!("{at}jets: {}", trouble.message_and_help().0)))) },
            Ok(along) => {
                @for sizes in &along.sizes { (row(&at, sizes)) }
                @if let Some((least, most)) = along.trim_percent {
                    p.jets { span.circuit { (at) "trim" } " " @if (most - least).abs() < 0.05 { (signed(least, 1)) " %" } @else { (signed(least, 1)) " to " (signed(most, 1)) " %" } }
                }
                @if along.held { p.know { (text(&capital(&format!("{at}after a lean run nothing leaner is fitted than the answer for that air, though it lies in the van.")))) } }
            }
        }
    }
}

fn row(at: &str, sizes: &Sizes) -> Markup {
    let circuit = match sizes.circuit {
        Circuit::Main => "main",
        Circuit::Pilot => "pilot",
        Circuit::Power => "power",
    };
    html! {
        @if sizes.none_is_enough && sizes.circuit != Circuit::Power {
            p.stop { "No " (circuit) " jet in the box is enough for one of these airs: get a larger one." }
        }
        @if !sizes.sizes.is_empty() {
            p.jets {
                span.circuit { (at) (circuit) }
                @for jet in &sizes.sizes {
                    " " span class=(if jet.is_wanted { "jet wanted" } else { "jet" }) { "☐\u{a0}" (trimmed(jet.size, 2)) @if jet.is_in_it { small { "\u{a0}in\u{a0}it" } } }
                }
            }
        }
    }
}

fn airs_words(bike: &VanBike<'_>, screen: &Screen) -> String {
    match &bike.airs {
        None => "No air is known to take jets for: none was given, and no run has one.".to_owned(),
        Some(Airs::Known(air)) => format!("For {}.", air_in_short(screen, air)),
        Some(Airs::OfRuns { place, ends, runs }) => {
            let [thin, dense] = ends.as_ref();
            let of = match place {
                Some(place) => format!("its runs at {}", text(place)),
                None => "its runs of a year".to_owned(),
            };
            if *runs == 1 {
                return format!("For the air of its one run ({}).", air_in_short(screen, thin));
            }
            format!(
                "For the thinnest and the densest air of {of}: {} and {}.",
                air_in_short(screen, thin),
                air_in_short(screen, dense)
            )
        }
    }
}
