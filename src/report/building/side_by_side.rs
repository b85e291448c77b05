//! The figures of several cylinders beside each other, a line a figure: what differs is seen in one look.

use crate::advice::building::FigureUnit;
use crate::notebook::fields::names::visible;
use crate::quantity::{Units, fixed};
use crate::report::building::build::with_the_doubt_under_its_name;
use crate::report::building::figure::{BuildFigure, scaled};
use crate::report::out::frame::FrameTable;
use crate::report::out::screen::Screen;
use crate::report::words::layout::table;

/// The most cylinders beside which the doubt has room, and beside which the edges have.
const WITH_DOUBT: usize = 2;
const WITH_EDGES: usize = 3;

/// One figure of all cylinders.
struct FigureRow<'f> {
    /// As it is at each cylinder of the table; none where it was not read there.
    at: Vec<Option<&'f BuildFigure>>,
}

/// The figures that are a cylinder's own, a column a cylinder; none where there are none.
pub(super) fn side_by_side(screen: &Screen, figures: &[BuildFigure]) -> Option<FrameTable> {
    let cylinders = in_their_order(figures);
    if cylinders.is_empty() {
        return None;
    }
    let units = screen.units();
    let (doubt, edges) = (cylinders.len() <= WITH_DOUBT, cylinders.len() <= WITH_EDGES);
    let rows: Vec<Vec<String>> = rows(figures, &cylinders)
        .into_iter()
        .map(|row| {
            let mut cells = row.first().map(|figure| vec![figure.name(units)]).unwrap_or_default();
            cells.extend(
                row.at.iter().map(|figure| figure.map_or_else(|| "-".to_owned(), |one| value(one, units))),
            );
            cells.extend(doubt.then(|| row.doubt(units)));
            cells.extend(edges.then(|| row.edges(units)));
            cells.push(row.verdict(&cylinders));
            cells
        })
        .collect();
    let (symbol, _, _) = scaled(FigureUnit::Length, units, 0.0);
    let named: Vec<String> = cylinders.iter().map(|name| visible(name)).collect();
    let title = format!("at 20 C, {symbol}");
    let mut head: Vec<&str> = vec![&title];
    head.extend(named.iter().map(String::as_str));
    head.extend(doubt.then_some("±"));
    head.extend(edges.then_some("good"));
    head.push("");
    let right: Vec<usize> = (1..=cylinders.len() + usize::from(doubt)).collect();
    let text = table(&head, rows.clone(), &right, screen.width());
    let is_doubt = |head: &&str| *head == "±";
    let column = head.iter().position(is_doubt).unwrap_or(usize::MAX);
    Some(FrameTable {
        caption: String::new(),
        head: head.iter().filter(|head| !is_doubt(head)).map(|head| (*head).to_owned()).collect(),
        rows: rows.into_iter().map(|row| with_the_doubt_under_its_name(row, column)).collect(),
        right: (1..=cylinders.len()).collect(),
        marked: None,
        text,
    })
}

/// The cylinders as they stand at the figure that was read at most of them: what comes first may have been read at the last one alone.
fn in_their_order(figures: &[BuildFigure]) -> Vec<&str> {
    let at = |figure: &BuildFigure| -> Vec<&str> {
        let same = figures.iter().filter(|other| other.of_all == figure.of_all);
        same.filter_map(|other| other.cylinder.as_deref()).collect()
    };
    let mut cylinders = figures.iter().map(at).rev().max_by_key(Vec::len).unwrap_or_default();
    for name in figures.iter().filter_map(|figure| figure.cylinder.as_deref()) {
        if !cylinders.contains(&name) {
            cylinders.push(name);
        }
    }
    cylinders
}

fn rows<'f>(figures: &'f [BuildFigure], cylinders: &[&str]) -> Vec<FigureRow<'f>> {
    let mut rows: Vec<FigureRow<'f>> = Vec::new();
    for figure in figures {
        let Some(column) = cylinders.iter().position(|name| Some(*name) == figure.cylinder.as_deref()) else {
            continue;
        };
        let known =
            rows.iter().position(|row| row.first().is_some_and(|first| first.of_all == figure.of_all));
        let place = known.unwrap_or_else(|| {
            rows.push(FigureRow { at: vec![None; cylinders.len()] });
            rows.len() - 1
        });
        rows[place].at[column] = Some(figure);
    }
    rows
}

fn value(figure: &BuildFigure, units: Units) -> String {
    let (_, size, decimals) = scaled(figure.sort, units, figure.expanded_uncertainty.0);
    fixed(figure.value.0 / size, decimals)
}

impl<'f> FigureRow<'f> {
    fn read(&self) -> impl Iterator<Item = &'f BuildFigure> {
        self.at.iter().copied().flatten()
    }

    fn first(&self) -> Option<&'f BuildFigure> {
        self.read().next()
    }

    /// The greatest doubt of them.
    fn doubt(&self, units: Units) -> String {
        let widest = self.read().max_by(|a, b| a.expanded_uncertainty.0.total_cmp(&b.expanded_uncertainty.0));
        widest.map_or_else(String::new, |figure| {
            let (_, size, decimals) = scaled(figure.sort, units, figure.expanded_uncertainty.0);
            fixed(figure.expanded_uncertainty.0 / size, decimals)
        })
    }

    /// Between which edges it is good; each once, where they are shares of bores that differ.
    fn edges(&self, units: Units) -> String {
        let mut all: Vec<String> = self.read().map(|figure| figure.edges_words(units)[0].clone()).collect();
        all.dedup();
        all.join(" | ")
    }

    /// What the limits say: once where it is the same at all, else of those where something is, "1, 2: watch; 4: replace".
    fn verdict(&self, cylinders: &[&str]) -> String {
        let named = cylinders.iter().zip(&self.at).filter_map(|(name, figure)| Some((*name, (*figure)?)));
        let read: Vec<(&str, &BuildFigure)> = named.collect();
        let first = read.first().map(|(_, figure)| figure.verdict_in_short()).unwrap_or_default();
        if read.iter().all(|(_, figure)| figure.verdict_in_short() == first) {
            return first;
        }
        let mut told: Vec<(String, Vec<String>)> = Vec::new();
        for (name, figure) in read.into_iter().filter(|(_, figure)| !figure.is_good()) {
            let words = figure.verdict_in_short();
            match told.iter_mut().find(|(known, _)| *known == words) {
                Some((_, names)) => names.push(visible(name)),
                None => told.push((words, vec![visible(name)])),
            }
        }
        let told = told.into_iter().map(|(words, names)| format!("{}: {words}", names.join(", ")));
        told.collect::<Vec<_>>().join("; ")
    }
}
