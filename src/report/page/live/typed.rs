//! What was typed into a form, to be shown again where something is asked.

/// Fields of a form with what stands in them, in their order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FormFields(Vec<(String, String)>);

impl FormFields {
    /// Of names and values.
    pub fn of(fields: impl IntoIterator<Item = (String, String)>) -> Self {
        Self(fields.into_iter().collect())
    }

    /// What stands in a field, without blanks around it; empty where there is none.
    pub fn get(&self, name: &str) -> &str {
        self.fields().find(|(known, _)| *known == name).map_or("", |(_, text)| text)
    }

    /// The same, and none where nothing stands there.
    pub fn said(&self, name: &str) -> Option<&str> {
        Some(self.get(name)).filter(|text| !text.is_empty())
    }

    /// Whether there is such a field, also an empty one.
    pub fn has(&self, name: &str) -> bool {
        self.fields().any(|(known, _)| known == name)
    }

    /// What stands in the field that a beginning and a name make together.
    pub fn of_two(&self, begins: &str, name: &str) -> &str {
        let is_it = |known: &str| known.strip_prefix(begins) == Some(name);
        self.fields().find(|(known, _)| is_it(known)).map_or("", |(_, text)| text)
    }

    /// What stands in all fields of a name.
    pub fn all<'t>(&'t self, name: &'t str) -> impl Iterator<Item = &'t str> {
        self.0.iter().filter(move |(known, _)| known == name).map(|(_, text)| text.trim())
    }

    /// The same with the place that was meant where one was nearly called so.
    #[must_use]
    pub fn as_meant(&self) -> Self {
        let Some(meant) = self.said(super::MEANT).map(str::to_owned) else { return self.clone() };
        let fields = self.0.iter().filter(|(name, _)| name != super::MEANT);
        let place = |(name, text): &(String, String)| {
            (name.clone(), if name == "place" { meant.clone() } else { text.clone() })
        };
        Self(fields.map(place).collect())
    }

    /// Every field.
    pub fn fields(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(name, text)| (name.as_str(), text.trim()))
    }
}

/// Name of the field that says which known place was meant.
pub const MEANT: &str = "meant";
