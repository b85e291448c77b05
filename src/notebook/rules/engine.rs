//! Rules of an engine's file that only geometry can break: what no engine could be built with.

use crate::notebook::fields::finding::Code;
use crate::notebook::rules::Rules;

impl Rules<'_> {
    /// Everything that cannot turn, or never opens.
    pub(super) fn geometry(&mut self) {
        self.rod();
        self.band();
        for name in self.window_names() {
            self.window_in_stroke(&name);
            self.window_in_bore(&name);
        }
    }

    /// A field in SI with what was typed.
    fn known(&self, field: &str) -> Option<(f64, String)> {
        let quantity = self.fields.quantity(field)?;
        Some((quantity.si(), quantity.with_unit()))
    }

    fn rod(&mut self) {
        let (Some((stroke, stroke_typed)), Some((rod, rod_typed))) =
            (self.known("engine.stroke"), self.known("engine.rod"))
        else {
            return;
        };
        let offset = self.known("engine.pin_offset").map_or(0.0, |(offset, _)| offset.abs());
        if rod <= stroke / 2.0 + offset {
            let message = format!(
                "The rod of {rod_typed} is not longer than half the stroke of {stroke_typed}: the crank could not turn."
            );
            self.find(
                Code::Contradiction,
                "engine.rod",
                "engine.rod",
                &message,
                "Give the rod between centres, and check the units of both.",
            );
        }
    }

    fn band(&mut self) {
        let (Some((bore, bore_typed)), Some((band, band_typed))) =
            (self.known("engine.bore"), self.known("head.band_width"))
        else {
            return;
        };
        if band >= bore / 2.0 {
            let message = format!(
                "The squish band of {band_typed} is wider than half the bore of {bore_typed}: it would leave no bowl."
            );
            self.find(
                Code::Contradiction,
                "head.band_width",
                "head.band_width",
                &message,
                "Give the width of the ring on one side, from the bowl's edge to the bore.",
            );
        }
    }

    fn window_names(&self) -> Vec<String> {
        let name = |field: &str| Some(field.strip_prefix("ports.windows.")?.split_once('.')?.0.to_owned());
        let mut names: Vec<String> = self.fields.iter().filter_map(|(field, _)| name(field)).collect();
        names.dedup();
        names
    }

    /// A window whose upper edge the crown never passes; the skirt works an intake window, so there the edge is free.
    fn window_in_stroke(&mut self, name: &str) {
        let top = format!("ports.windows.{name}.top");
        let (Some((stroke, stroke_typed)), Some((deck, _)), Some((edge, edge_typed))) =
            (self.known("engine.stroke"), self.known("ports.deck_height"), self.known(&top))
        else {
            return;
        };
        let by_skirt = self.fields.text(&format!("ports.windows.{name}.kind")) == Some("intake");
        if !by_skirt && edge - deck >= stroke {
            let message = format!(
                "The upper edge of {name}, {edge_typed} below the deck, lies outside the stroke of {stroke_typed}: it would never open."
            );
            self.find(
                Code::Contradiction,
                &top,
                &top,
                &message,
                "Heights are measured from the deck downwards; check the edge, the stroke and the deck height.",
            );
        }
    }

    fn window_in_bore(&mut self, name: &str) {
        let width = format!("ports.windows.{name}.width");
        let (Some((bore, bore_typed)), Some((across, typed))) =
            (self.known("engine.bore"), self.known(&width))
        else {
            return;
        };
        if across > bore {
            let message = format!("The window {name} is {typed} wide, more than the bore of {bore_typed}.");
            self.find(
                Code::Contradiction,
                &width,
                &width,
                &message,
                "Give the width straight across from edge to edge, not along the wall.",
            );
        }
    }
}
