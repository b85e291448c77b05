//! A build of an engine with several cylinders: each is judged by what holds for it, and what is the same at all of them is said once.

use super::figure::NamedFigure;
use super::figures::{Judgement, judge};
use crate::notebook::fields::names::{in_words, visible};
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{Build, Limits, OwnBuild};

impl Build {
    /// The one of several cylinders that alone was apart, by the check list; none where all were, and on an engine with one.
    pub fn apart_at(&self) -> Option<&str> {
        let mut apart = self.cylinder.iter().filter(|(_, own)| !own.steps.is_empty());
        let (name, _) = apart.next()?;
        apart.next().is_none().then_some(name)
    }

    /// How much of it was apart, in words: "top end", "top end at right".
    pub fn what_was_apart(&self) -> String {
        let at = self.apart_at().map(|name| format!(" at {}", in_words(name))).unwrap_or_default();
        format!("{}{at}", self.scope.words())
    }
}

/// A cylinder of an engine with its nominal bore, m.
pub(super) type Cylinder = (String, Option<f64>);

/// Judges each cylinder of a build; `bore_m` is the bore of those that have none of their own. What cannot be reckoned with at one of
/// them is a remark, and the others are judged all the same.
pub fn judge_each(
    build: &Build,
    engine: &str,
    limits: &Limits,
    (cylinders, bore_m): (&[Cylinder], Option<f64>),
) -> Judgement {
    let nothing =
        || Judgement { figures: Vec::new(), bores: Vec::new(), remarks: Vec::new(), is_reckoned: true };
    // What is written for all may be only a part of it; what is wrong with it is wrong at each.
    let of_all = judge(&build.for_cylinder(""), engine, limits, bore_m).unwrap_or_else(|_| nothing());
    let mut all = nothing();
    let mut each: Vec<(&str, Judgement)> = Vec::new();
    for (name, bore_m) in cylinders {
        match judge(&build.for_cylinder(name), engine, limits, *bore_m) {
            Ok(judged) => each.push((name, judged)),
            Err(error) => {
                all.is_reckoned = false;
                let name = visible(name);
                let wrong = format!(
                    "The readings of the cylinder {name} cannot be reckoned with: {error} Fix them with "
                );
                let measure = Command::MeasureBuild { engine: engine.to_owned(), cylinder: Some(name) };
                all.remarks.push(Guidance::from(wrong) + measure + ".");
            }
        }
    }
    let common = |figure: &NamedFigure| {
        let said_of_all = of_all.figures.iter().any(|other| is_one(figure, other));
        said_of_all && each.iter().all(|(_, judged)| judged.figures.iter().any(|other| is_one(figure, other)))
    };
    let own = each.iter().flat_map(|(name, judged)| {
        let figures = judged.figures.iter().filter(|figure| !common(figure));
        figures.map(|figure| NamedFigure { cylinder: Some((*name).to_owned()), ..figure.clone() })
    });
    all.figures = of_all.figures.iter().filter(|figure| common(figure)).cloned().chain(own).collect();
    all.figures.sort_by_key(|figure| super::KINDS.iter().position(|kind| kind.name == figure.kind.name));
    all.remarks.extend(remarks(&each));
    all.bores = match of_all.bores.as_slice() {
        [(_, map)] if !build.cylinder.values().any(OwnBuild::measures_the_bore) => {
            vec![(None, map.clone())]
        }
        _ => {
            let own = each.into_iter().flat_map(|(name, judged)| {
                judged.bores.into_iter().map(move |(_, map)| (Some(name.to_owned()), map))
            });
            own.collect()
        }
    };
    all
}

/// Whether two figures are one reading, as it stands at two cylinders.
fn is_one(one: &NamedFigure, other: &NamedFigure) -> bool {
    let same = |a: f64, b: f64| a.total_cmp(&b).is_eq();
    one.is_same(other)
        && one.at == other.at
        && one.edges == other.edges
        && same(one.value.value(), other.value.value())
        && same(one.value.uncertainty(), other.value.uncertainty())
}

/// What is to be said of the cylinders; what is said of several of them is said once.
fn remarks(each: &[(&str, Judgement)]) -> Vec<Guidance> {
    let mut said: Vec<(&Guidance, Vec<String>)> = Vec::new();
    for (name, judged) in each {
        for remark in &judged.remarks {
            match said.iter_mut().find(|(known, _)| *known == remark) {
                Some((_, names)) => names.push(visible(name)),
                None => said.push((remark, vec![visible(name)])),
            }
        }
    }
    let words = said.into_iter().map(|(remark, names)| match names.len() {
        all if all == each.len() => remark.clone(),
        1 => Guidance::from(format!("Cylinder {}: ", names[0])) + remark.clone(),
        _ => Guidance::from(format!("Cylinders {}: ", names.join(", "))) + remark.clone(),
    });
    words.collect()
}
