//! The van list: what is taken along to the next event, bike by bike, with a box for the pencil, and what the book does not know of it.

use maud::{Markup, html};

use super::shell::{document, parts, text};
use crate::advice::along::{Airs, JetsAlong, Sizes, Use};
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
                p { "made " (text(&self.made.day())) }
            }
            main.van {
                p.wide.key { span.jet.wanted { "☐" } " what these airs want; " span.jet.in-it { "☐" } " in the carburetor now; " span.jet { "☐" } " beside: one leaner, two richer." }
                @for bike in &self.bikes { (van_bike(bike, screen)) }
            }
            footer {
                p { (NOT_IN_THE_BOOK) }
                p { b { "CAUTION " } (ON_THE_WAY) }
            }
        };
        document(&title, small, &body)
    }
}

fn van_bike(bike: &VanBike<'_>, screen: &Screen) -> Markup {
    let on_it = bike.now.on_a_sheet(screen);
    let jobs: Vec<FramePart> = on_it
        .into_iter()
        .flat_map(|on_it| on_it.jobs)
        .filter(|part| matches!(part, FramePart::Boxes(_)))
        .collect();
    let due = bike.due.taken_along();
    let unknown = bike.due.hours_not_known();
    html! {
        section.bike {
            h2 { (text(bike.bike)) }
            @for (cylinder, jets) in &bike.jets { (jets_of(cylinder.as_deref(), jets)) }
            p.source { (text(&airs_words(bike, screen))) }
            table {
                tr { th { "plug" } td { @match &bike.plug { Some(plug) => { "☐ " (text(plug)) }, None => "not written down" } } }
                tr { th { "fuel" } td { @match &bike.fuel { Some(fuel) => { "☐ " (text(fuel)) }, None => "not written down" } } }
                @if let Some(oil) = &bike.oil { tr { th { "oil" } td { "☐ " (text(oil)) } } }
            }
            h3 { "Parts that do not last the event" }
            @if due.is_empty() { p { "None that the book knows." } }
            @else { ul.boxes { @for part in &due { li { (text(part)) } } } }
            @if !unknown.is_empty() { p.know { "Nobody knows whether enough is left: " (text(&unknown.join(", "))) "." } }
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
                @if along.held { p.know { (text(&capital(&format!("{at}a lean run holds it: nothing leaner than what rejet says there is fitted, though it lies in the van.")))) } }
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
                @for (size, is_for) in &sizes.sizes {
                    " " span class=(match is_for { Use::Wanted => "jet wanted", Use::InIt => "jet in-it", Use::Beside => "jet" }) { "☐ " (trimmed(*size, 2)) }
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
