//! Templates of new bikes and engines: a garage's own, and those that come with the program.

use std::path::Path;

use crate::notebook::fields::names;
use crate::store::error::StoreError;
use crate::store::folder::defaults::config;
use crate::store::folder::garage::Garage;

impl Garage {
    /// A template for a new bike or engine: the garage's own, or the one that comes with the program.
    pub fn template(&self, name: &str) -> Result<Vec<u8>, StoreError> {
        names::check(name)?;
        let path = Path::new("configs/templates").join(format!("{name}.toml"));
        if let Some(bytes) = self.read(&path)? {
            return Ok(bytes);
        }
        config(&path).map(<[u8]>::to_vec).ok_or_else(|| {
            StoreError::request(
                Some("template"),
                format!("There is no template \"{name}\" in configs/templates."),
                format!("There are: {}.", self.templates().join(", ")),
            )
        })
    }

    /// Names of the templates for bikes.
    pub fn templates(&self) -> Vec<String> {
        let own = self.file_names(Path::new("configs/templates")).unwrap_or_default();
        let mut names: Vec<_> = own
            .iter()
            .filter_map(|name| name.strip_suffix(".toml"))
            .chain(["carbureted", "injected"])
            .filter(|name| *name != "engine")
            .map(str::to_owned)
            .collect();
        names.sort();
        names.dedup();
        names
    }
}
