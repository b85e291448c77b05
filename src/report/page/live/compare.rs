//! Two setups side by side, with what is drawn of them.

use maud::{Markup, html};

use super::super::drawing::curves;
use super::super::sheet::Spark;
use super::super::shell::{DrawnFigure, figure, text};
use super::{PageFrame, kept, of_bike, plain};
use crate::advice::figures::ports::PortFigures;
use crate::notebook::fields::cylinder::cylinders_called;
use crate::notebook::fields::names::visible;
use crate::report::words::layout::count;
use crate::report::{CompareAnswer, Screen};

/// What is drawn of both sides, the older first.
pub struct Drawn {
    /// What each side is called.
    pub names: [String; 2],
    /// Each of several cylinders, or the only one.
    pub each: Vec<DrawnCylinder>,
}

/// What is drawn of a cylinder, the older side first.
pub struct DrawnCylinder {
    /// Which of several it is.
    pub name: Option<String>,
    /// When the spark comes.
    pub spark: [Spark; 2],
    /// The ports.
    pub ports: [PortFigures; 2],
}

/// What is asked; `numbers` are the setups with their reasons, the newest first, `chosen` the two that are shown.
pub fn compare(
    place: &PageFrame<'_>,
    screen: &Screen,
    (answer, drawn): (&CompareAnswer<'_>, &Drawn),
    (numbers, chosen): (&[(String, String)], [&str; 2]),
) -> String {
    let bike = place.bike.unwrap_or_default();
    let page = answer.on_a_page(screen);
    let rows = page.changes;
    let body = html! {
        h1 { (of_bike(bike, "two setups")) }
        (plain(place, &page.head))
        @if !rows.is_empty() {
            table.changes {
                thead { tr { th {} @for name in &drawn.names { th { (text(name)) } } th { "by" } } }
                tbody {
                    @for row in &rows {
                        @if let [section, field, from, to, difference] = row.as_slice() {
                            @if !section.is_empty() { tr { th colspan="4" scope="rowgroup" { (text(section)) } } }
                            tr { td { (kept(field)) } td { (kept(from)) } td { (kept(to)) } td { (kept(difference)) } }
                        }
                    }
                }
            }
        }
        (plain(place, &page.follows))
        @if !page.inside.is_empty() {
            details { summary { "Inside the engine: " (count(page.inside.len(), "change")) }
                ul { @for change in &page.inside { li { (kept(change)) } } }
            }
        }
        form method="get" action=(place.address("/compare")) {
            h2 { "Two others" }
            (select("from", numbers, chosen[0]))
            (select("to", numbers, chosen[1]))
            button.also { "Compare" }
        }
        (drawings(drawn))
    };
    place.page(&of_bike(bike, "compare"), &body)
}

fn select(name: &str, numbers: &[(String, String)], chosen: &str) -> Markup {
    html! {
        label { (if name == "from" { "from" } else { "to" }) select name=(name) {
            option value="now" selected[chosen == "now"] { "now, on disk" }
            @for (number, why) in numbers {
                option value=(number) selected[chosen == number] { (number) ": " (short(why)) }
            }
        } }
    }
}

/// So much of a reason as has room on a button.
pub(super) fn short(why: &str) -> String {
    let why = text(why.lines().next().unwrap_or_default());
    let start: String = why.chars().take(30).collect();
    if start.len() < why.len() { format!("{start}…") } else { start }
}

fn is_same_spark(old: &Spark, new: &Spark) -> bool {
    matches!((old, new), (Ok(old), Ok(new)) if old == new)
}

/// The drawings of each cylinder that looks otherwise than the others, with whose they are.
fn drawings(drawn: &Drawn) -> Markup {
    let mut groups: Vec<(String, Vec<&str>, &DrawnCylinder)> = Vec::new();
    for one in &drawn.each {
        let (looks, name) = (of_one(&drawn.names, one, "").into_string(), one.name.as_deref());
        match groups.iter_mut().find(|(known, ..)| *known == looks) {
            Some((_, names, _)) => names.extend(name),
            None => groups.push((looks, name.into_iter().collect(), one)),
        }
    }
    let is_of_all = groups.len() == 1;
    let at = |names: &[&str]| match names {
        [] => String::new(),
        _ if is_of_all => ", each cylinder".to_owned(),
        names => format!(", {}", cylinders_called(names)),
    };
    html! { @for (_, names, one) in &groups { (of_one(&drawn.names, one, &at(names))) } }
}

fn of_one(names: &[String; 2], drawn: &DrawnCylinder, at: &str) -> Markup {
    let [from, to] = names.each_ref().map(|name| visible(name));
    let [old, new] = &drawn.spark;
    let spark = DrawnFigure {
        title: format!("Spark{at}"),
        svg: curves::spark(new, Some(old), "The spark of both at full throttle over engine speed.")
            .filter(|_| !is_same_spark(old, new)),
        caption: match (new, old) {
            (Err(gap), _) => format!("Not drawn of {to}: {gap}."),
            (_, Err(gap)) => format!("Solid: {to}. Of {from} it is not known: {gap}."),
            (Ok(new), Ok(old)) if new == old => {
                "Full throttle, the box's lag off; BTDC: before top dead centre: the same angles.".to_owned()
            }
            _ => format!(
                "Full throttle, the box's lag off; BTDC: before top dead centre. Solid: {to}; dashed: {from}."
            ),
        },
        wide: false,
    };
    let ports = |side: usize, name: &str| {
        let svg = curves::ports(&drawn.ports[side], "The open areas of the ports over the crank angle.");
        let caption = match &svg {
            Some(_) => "Solid: exhaust, power valve open; dashed: transfers.".to_owned(),
            None => "Not drawn: the windows' shapes are not written down whole.".to_owned(),
        };
        DrawnFigure { title: format!("Ports, {name}{at}"), svg, caption, wide: false }
    };
    let [one, other] = [ports(0, &from), ports(1, &to)];
    html! {
        (figure(&spark))
        @if one.svg == other.svg {
            (figure(&DrawnFigure { title: format!("Ports{at}"), caption: format!("{} The same in both.", one.caption), ..one }))
        } @else {
            div.sides { (figure(&one)) (figure(&other)) }
        }
    }
}
