//! The jetting card, for the lid of a toolbox: a grid of airs, with a line where another size begins.

use maud::{Markup, html};

use super::shell::{document, kept, text};
use crate::notebook::When;
use crate::notebook::fields::cylinder::{at_cylinder, said_of_all};
use crate::report::jetting::card::paper::{CardOnPaper, PaperCell};
use crate::report::words::layout::capital;
use crate::report::{CardAnswer, InPart};

/// What a card is made of.
pub struct CardSheet<'a> {
    /// The bike.
    pub bike: &'a str,
    /// The card of each of several cylinders that has an answer; without a name of the whole bike.
    pub cards: InPart<CardAnswer>,
    /// When it is made.
    pub made: When,
}

impl CardSheet<'_> {
    /// The page, for A4 and Letter, or for A5 where it is to be small.
    pub fn html(&self, small: bool) -> String {
        let each = self.cards.each();
        let cards = each.on_paper(self.cards.is_whole());
        let baseline = each.alike(|card| card.baseline);
        let from = baseline.map(|number| format!(", from setup {number}")).unwrap_or_default();
        let what = cards.first().map_or("", |(_, card)| card.what);
        let title = format!("{}: {what}", text(self.bike));
        let records =
            said_of_all(&each.of_each(|card| vec![card.record.clone()]), |name, one| at_cylinder(name, one));
        let cautions = said_of_all(&each.of_each(|card| card.cautions.clone()), |_, one| one.to_owned());
        // Of several cylinders each has a page on A5, and all that must be known with it.
        let apart = small && cards.len() > 1;
        let body = html! {
            header {
                h1 { (title) (from) }
                p { "made " (kept(&self.made.day())) }
            }
            main class={ "card" (if cards.len() > 1 { " several" } else { "" }) } {
                @for words in self.cards.without(self.bike) { section.wide { p.stop { (kept(&words)) } } }
                @for (at, (cylinder, card)) in cards.iter().enumerate() {
                    section.wide {
                        @if let Some(cylinder) = cylinder {
                            // On A5 each lies in the lid by itself.
                            h2 { @if apart && at > 0 { (title) ", " (text(cylinder)) ", made " (kept(&self.made.day())) } @else { (capital(&text(cylinder))) } }
                        }
                        (grid(card))
                        @if apart {
                            p { (richer(&cards)) " " b { (heavy(&cards)) } @for record in &records { " " (kept(record)) } }
                            p.caution { b { "CAUTION " } (cautions.join(" ")) }
                        }
                    }
                }
                @if !apart {
                    section.wide {
                        p { (richer(&cards)) " " b { (heavy(&cards)) } }
                        @for record in &records { p { (kept(record)) } }
                    }
                }
            }
            @if !apart { footer { p { b { "CAUTION " } (cautions.join(" ")) } } }
        };
        document(&title, small, &body)
    }
}

fn grid(card: &CardOnPaper) -> Markup {
    html! {
        @if let Some(first) = &card.first { p.stop { (kept(first)) } }
        @if let Some(moved_on) = &card.moved_on { p.know { (text(moved_on)) } }
        @if let Some(everywhere) = &card.everywhere { p.hands { (text(everywhere)) } }
        table.grid {
            caption { (text(&card.air)) }
            thead { tr {
                th scope="col" { (capital(card.down)) }
                @for temperature in &card.temperatures { th scope="col" { (text(temperature)) } }
            } }
            tbody {
                @for (number, (head, cells)) in card.rows.iter().enumerate() {
                    @let above = number.checked_sub(1).and_then(|above| card.rows.get(above)).map(|(_, cells)| cells);
                    tr {
                        th scope="row" { (text(head)) }
                        @for (at, cell) in cells.iter().enumerate() {
                            @let left = at.checked_sub(1).and_then(|left| cells.get(left));
                            td class=(looks(cell, left, above.and_then(|above| above.get(at)))) {
                                b { (text(&cell.size)) } @if cell.is_above { " " span.over { "!" } }
                                @for line in &cell.beside {
                                    " " span.line { @for (at, one) in line.iter().enumerate() { @if at > 0 { ", " } span.word { (text(one)) } } }
                                }
                            }
                        }
                    }
                }
            }
        }
        @if !card.signs.is_empty() { p { (text(&card.signs.join(" "))) } }
    }
}

/// What a heavy line means.
fn heavy(cards: &[(Option<String>, CardOnPaper)]) -> &'static str {
    if cards.iter().any(|(_, card)| card.needles_differ) {
        "A heavy line is where another size or another needle begins."
    } else {
        "A heavy line is where another size begins."
    }
}

/// What is taken between two cells.
fn richer(cards: &[(Option<String>, CardOnPaper)]) -> &'static str {
    if cards.iter().any(|(_, card)| card.is_trim) {
        "Between two cells take the trim that is further to plus: it is the richer one."
    } else {
        "Between two cells take all of the one with the larger main jet; where that is the same, of the one for the colder or denser air: it is the richer. A screw turned further out is leaner."
    }
}

/// How a cell looks: with a line where its neighbour has another size.
fn looks(cell: &PaperCell, left: Option<&PaperCell>, above: Option<&PaperCell>) -> String {
    let other = |beside: Option<&PaperCell>| beside.is_some_and(|beside| beside.band != cell.band);
    let lacks = if cell.band.is_none() { "stop" } else { "size" };
    let left = if other(left) { " begins-left" } else { "" };
    let above = if other(above) { " begins-above" } else { "" };
    format!("{lacks}{left}{above}")
}
