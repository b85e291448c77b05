//! Jets that are written into a setup and are not in the box, and a clip in a groove that its needle does not have.

use super::slip::{Questioned, Slip};
use super::{disc, far, fuel};
use crate::notebook::editing::assign::apply;
use crate::notebook::fields::names::visible;
use crate::notebook::{Circuit, Combination, EditOptions, JetBox, Jetting, NeedleBox, NumberedBy, Setup};
use crate::quantity::{Measure, trimmed};
use crate::store::{Book, ChangeRequest, Garage, StoreError};

/// A circuit's jet as a setup names it.
struct Jet<'s> {
    field: &'static str,
    circuit: Circuit,
    number: f64,
    numbered_by: NumberedBy,
    series: Option<&'s str>,
}

/// What is to be asked of the jets, the clip and the disc that a change would write down. A jet that is in the bike already is at hand, listed
/// or not.
pub fn of_change(book: &Book<'_>, request: &ChangeRequest) -> Result<Vec<Slip>, StoreError> {
    let garage = book.garage();
    let options = EditOptions { insert: request.insert, refuse_bare_lengths: garage.is_imperial() };
    // What cannot be applied, or read, the change itself refuses with more to say.
    let Ok(files) = apply(&garage.files_now(&request.bike)?, &request.assignments, options) else {
        return Ok(Vec::new());
    };
    let latest = book.latest(&request.bike)?;
    let before = latest.map(|latest| book.combination(&request.bike, Some(&latest))).transpose()?;
    let whole = garage.combination(&files);
    let names = whole.fields.cylinders();
    if names.is_empty() {
        return Ok(of_one(garage, request, before, whole));
    }
    let mut slips: Vec<Slip> = Vec::new();
    let had = |name: &String| before.as_ref().map(|all| all.for_cylinder(name));
    for name in &names {
        let own = whole.for_cylinder(name);
        let fields = own.fields.clone();
        let mut of_it = of_one(garage, request, had(name), own);
        // What a neighbour had already is no slip of the pen.
        let beside = |field: &str| {
            let others = names.iter().filter(|other| *other != name).filter_map(had);
            others.into_iter().any(|other| {
                fields.get(field).zip(other.fields.get(field)).is_some_and(|(own, its)| own.same_as(its))
            })
        };
        of_it.retain(|slip| !(slip.question.ends_with(far::IS_IT_A_SLIP) && beside(&slip.field)));
        for mut slip in of_it {
            let own = format!("{name}.{}", slip.field);
            if whole.fields.get(&own).is_some() {
                slip.field = own.into();
            }
            if slips.iter().all(|known| known.question != slip.question) {
                slips.push(slip);
            }
        }
    }
    Ok(slips)
}

fn of_one(
    garage: &Garage,
    request: &ChangeRequest,
    before: Option<Combination>,
    whole: Combination,
) -> Vec<Slip> {
    let (fields, before) = before.map(|whole| (whole.fields, whole.setup)).unwrap_or_default();
    let (before, after) = (before.unwrap_or_default(), whole.setup.unwrap_or_default());
    let (Ok(jets), Ok(needles), Ok(bike)) = (garage.jets(), garage.needles(), garage.bike(&request.bike))
    else {
        return Vec::new();
    };
    let own = bike.own_box.unwrap_or_default();
    let asked = [(main(&before), main(&after), own.main), (pilot(&before), pilot(&after), own.pilot)];
    let of_jets = asked.into_iter().filter_map(|(before, after, own)| {
        let after = after?;
        match before {
            Some(before) if before.numbered_by != after.numbered_by => {
                not_of_its_series(&after, &jets).or_else(|| numbered_otherwise(&after, &jets))
            }
            Some(before) if is_size(before.number, after.number) => None,
            Some(_) => not_in_box(&after, &jets, &own),
            None => numbered_otherwise(&after, &jets),
        }
    });
    let spark = far::spark(&fields, &whole.fields);
    let mut numbers = far::numbers(&fields, &whole.fields);
    numbers.retain(|slip| spark.as_ref().is_none_or(|spark| spark.field != slip.field));
    let slips = of_jets
        .chain(clip(&before, &after, &needles))
        .chain(unlisted_needle(&before, &after, &needles))
        .chain(disc::angles(&fields, &whole.fields))
        .chain(spark)
        .chain(numbers)
        .chain(fuel::figures_of_another(before.fuel.as_ref(), after.fuel.as_ref()))
        .chain(fuel::oil_called_by_a_number(before.fuel.as_ref(), after.fuel.as_ref()));
    // What was said to be right before is not asked again.
    let known = fuel::alcohol(before.fuel.as_ref()).is_some();
    let alcohol = fuel::alcohol(after.fuel.as_ref()).filter(|_| !known);
    slips.chain(alcohol).chain(fuel::no_petrol(before.fuel.as_ref(), after.fuel.as_ref())).collect()
}

/// The question where the clip that is written down is in no groove.
fn clip(before: &Setup, after: &Setup, needles: &NeedleBox) -> Option<Slip> {
    let same = |one: &Jetting, two: &Jetting| {
        one.needle == two.needle && one.clip.as_ref().map(Measure::si) == two.clip.as_ref().map(Measure::si)
    };
    if let (Some(before), Some(after)) = (&before.jetting, &after.jetting)
        && same(before, after)
    {
        return None;
    }
    Some(Slip {
        what: Questioned::Jet,
        field: "jetting.clip".into(),
        question: format!("{}: is it a typing mistake?", beyond_the_grooves(after, needles)?),
        instead:
            "Grooves count from the top, 1 the leanest. How many a needle has stands in configs/needles.toml."
                .into(),
    })
}

/// The question where a needle that nothing lists takes the place of one that is listed.
fn unlisted_needle(before: &Setup, after: &Setup, needles: &NeedleBox) -> Option<Slip> {
    let needle = |setup: &Setup| setup.jetting.as_ref().and_then(|jetting| jetting.needle.clone());
    let (before, after) = (needle(before)?, needle(after)?);
    let listed = |needle: &str| needles.needles.contains_key(needle);
    (listed(&before) && !listed(&after)).then(|| Slip {
        what: Questioned::Jet,
        field: "jetting.needle".into(),
        question: format!(
            "Needle {} is not in configs/needles.toml, and {} is: is it a typing mistake?",
            visible(&after),
            visible(&before)
        ),
        instead: "What a needle measures is added there; without it nothing is reckoned below full throttle."
            .into(),
    })
}

/// A clip in a groove that its needle does not have, in words: "Clip 9 is beyond the 5 grooves of needle n2". A needle that is not
/// known is taken to have as many as any that is listed.
pub fn beyond_the_grooves(setup: &Setup, needles: &NeedleBox) -> Option<String> {
    let jetting = setup.jetting.as_ref()?;
    let clip = jetting.clip.as_ref()?.si();
    let needle = jetting.needle.as_deref().unwrap_or_default();
    let (grooves, of) = if let Some(known) = needles.needles.get(needle) {
        (known.grooves.si(), format!("of needle {}", visible(needle)))
    } else {
        let most = needles.needles.values().map(|needle| needle.grooves.si()).reduce(f64::max)?;
        (most, "that any needle in configs/needles.toml has".to_owned())
    };
    (clip > grooves)
        .then(|| format!("Clip {} is beyond the {} grooves {of}", trimmed(clip, 0), trimmed(grooves, 0)))
}

fn main(setup: &Setup) -> Option<Jet<'_>> {
    let jetting = setup.jetting.as_ref()?;
    Some(Jet {
        field: "jetting.main",
        circuit: Circuit::Main,
        number: jetting.main.as_ref()?.si(),
        numbered_by: jetting.main_numbered_by?,
        series: jetting.main_series.as_deref(),
    })
}

fn pilot(setup: &Setup) -> Option<Jet<'_>> {
    let jetting = setup.jetting.as_ref()?;
    Some(Jet {
        field: "jetting.pilot",
        circuit: Circuit::Pilot,
        number: jetting.pilot.as_ref()?.si(),
        numbered_by: jetting.pilot_numbered_by?,
        series: jetting.pilot_series.as_deref(),
    })
}

/// The question, where the box lists sizes for the circuit and not this one.
fn not_in_box(jet: &Jet<'_>, jets: &JetBox, own: &[f64]) -> Option<Slip> {
    let (sizes, list) = if own.is_empty() {
        (of_series(jet, jets), "configs/jets.toml")
    } else {
        (own.to_vec(), "the bike's [box]")
    };
    if sizes.is_empty() || sizes.iter().any(|size| is_size(*size, jet.number)) {
        return None;
    }
    let below = sizes.iter().copied().filter(|size| *size < jet.number).reduce(f64::max);
    let above = sizes.iter().copied().filter(|size| *size > jet.number).reduce(f64::min);
    let beside: Vec<_> = below.into_iter().chain(above).map(|size| trimmed(size, 2)).collect();
    Some(Slip {
        what: Questioned::Jet,
        field: jet.field.into(),
        question: format!(
            "{} is not in the box (nearest: {}): is it a typing mistake?",
            trimmed(jet.number, 2),
            beside.join(" and ")
        ),
        instead: format!("A jet that you bought is added in {list}.").into(),
    })
}

/// The question where a first jet is no size of its own numbering, and would be one of the other.
fn numbered_otherwise(jet: &Jet<'_>, jets: &JetBox) -> Option<Slip> {
    let (is, would_be) = match jet.numbered_by {
        NumberedBy::Flow => ("flow", NumberedBy::Bore),
        NumberedBy::Bore => ("bore", NumberedBy::Flow),
    };
    let other = Jet { numbered_by: would_be, series: None, ..*jet };
    let (own, other) = (of_series(jet, jets), of_series(&other, jets));
    let within = |sizes: &[f64]| {
        let (least, most) = sizes
            .iter()
            .fold((f64::INFINITY, 0.0_f64), |(least, most), size| (least.min(*size), most.max(*size)));
        (least..=most).contains(&jet.number)
    };
    let word = if is == "flow" { "bore" } else { "flow" };
    (!own.is_empty() && !within(&own) && within(&other)).then(|| Slip {
        what: Questioned::Jet,
        field: jet.field.into(),
        question: format!(
            "{} is said to be numbered by {is}, and is a size by {word} in the box: is it a typing mistake? The two are half as much fuel or twice as much.",
            trimmed(jet.number, 2)
        ),
        instead: format!("Push a pin gauge through it: a 172 by bore is a 1.72 mm hole. Then say {}_numbered_by={word}.", jet.field).into(),
    })
}

/// The question where a jet is said to be numbered otherwise than the series is that it is of.
fn not_of_its_series(jet: &Jet<'_>, jets: &JetBox) -> Option<Slip> {
    let name = jet.series?;
    let series = jets.series.get(name).filter(|series| series.numbered_by != jet.numbered_by)?;
    let word = |by: NumberedBy| if by == NumberedBy::Flow { "flow" } else { "bore" };
    let (is, of_series) = (word(jet.numbered_by), word(series.numbered_by));
    Some(Slip {
        what: Questioned::Jet,
        field: format!("{}_numbered_by", jet.field).into(),
        question: format!(
            "{} is said to be numbered by {is}, and its series {} counts by {of_series}: which of the two is wrong? The two are half as much fuel or twice as much.",
            trimmed(jet.number, 2),
            visible(name)
        ),
        instead: format!("Name the series of the jet that is in it as well: {}_series=….", jet.field).into(),
    })
}

/// Sizes of the series that the setup names, or of all that count as its jet does.
fn of_series(jet: &Jet<'_>, jets: &JetBox) -> Vec<f64> {
    let all = jets.series.iter().filter(|(name, series)| match jet.series {
        Some(named) => *name == named,
        None => series.circuit == Some(jet.circuit),
    });
    all.filter(|(_, series)| series.numbered_by == jet.numbered_by)
        .flat_map(|(_, series)| series.sizes.iter().copied())
        .collect()
}

/// Whether two numbers are one size: stamps differ by a quarter at least.
fn is_size(one: f64, other: f64) -> bool {
    (one - other).abs() < 0.1
}
