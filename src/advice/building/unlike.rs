//! Two builds of an engine side by side: how each figure moved, and whether the gauges can tell.

use super::figure::NamedFigure;
use crate::engine::doubt::COVERAGE;

/// One figure of two builds.
#[derive(Debug, Clone)]
pub struct Unlike {
    /// At the older build.
    pub old: Option<NamedFigure>,
    /// At the newer one.
    pub new: Option<NamedFigure>,
}

impl Unlike {
    /// The figure itself, whichever side has it.
    pub fn figure(&self) -> Option<&NamedFigure> {
        self.new.as_ref().or(self.old.as_ref())
    }

    /// New less old and its standard uncertainty, SI. The doubts of two builds are their own: each gauge was set anew.
    pub fn difference(&self) -> Option<(f64, f64)> {
        let (old, new) = (self.old.as_ref()?, self.new.as_ref()?);
        let doubt = old.value.uncertainty().hypot(new.value.uncertainty());
        Some((new.value.value() - old.value.value(), doubt))
    }

    /// Whether the gauges can tell the two apart.
    pub fn is_told_apart(&self) -> Option<bool> {
        self.difference().map(|(difference, doubt)| difference.abs() > COVERAGE * doubt)
    }
}

/// The figures of two builds in the order of reading.
pub fn unlike(old: &[NamedFigure], new: &[NamedFigure]) -> Vec<Unlike> {
    let mut found: Vec<Unlike> = old
        .iter()
        .map(|figure| Unlike {
            old: Some(figure.clone()),
            new: new.iter().find(|other| other.is_same(figure)).cloned(),
        })
        .collect();
    let added = new.iter().filter(|figure| !old.iter().any(|other| other.is_same(figure)));
    found.extend(added.map(|figure| Unlike { old: None, new: Some(figure.clone()) }));
    let order = |one: &Unlike| {
        let name = one.figure().map(|figure| figure.kind.name);
        super::KINDS.iter().position(|kind| Some(kind.name) == name)
    };
    found.sort_by_key(order);
    found
}
