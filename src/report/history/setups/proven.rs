//! A setup that is vouched for, or no longer.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::AirEntry;
use crate::report::history::noted_air::NotedAir;
use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;

/// A proven mark set or taken back.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ProvenAnswer<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Number of the setup.
    #[schemars(range(min = 1))]
    setup: u32,
    /// Whether it is marked proven now.
    proven: bool,
    /// Air it was proven in; not there when a mark was taken back.
    #[serde(skip_serializing_if = "ProvenIn::is_withdrawn")]
    air: ProvenIn,
    /// Where that air is known from.
    #[serde(skip)]
    source: Option<&'a str>,
    /// What should be known of the mark.
    #[serde(skip)]
    remark: Option<String>,
    /// What forbids to run it as it stands, or leaner, a sentence each: a lean run that holds, an engine that is not put together.
    stops: Vec<String>,
}

/// The air of a mark.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(transparent)]
struct ProvenIn {
    /// The air, where it is known.
    air: Option<NotedAir>,
    /// Whether there is no mark any more.
    #[serde(skip)]
    withdrawn: bool,
}

impl ProvenIn {
    fn is_withdrawn(&self) -> bool {
        self.withdrawn
    }
}

impl<'a> ProvenAnswer<'a> {
    /// A mark that was set: the air with where it is known from, and what should be known.
    pub fn set(
        bike: &'a str,
        setup: u32,
        air: Option<&'a (AirEntry, String)>,
        remark: Option<String>,
    ) -> Self {
        let (air, source) = air.map(|(air, source)| (NotedAir::of(air), source.as_str())).unzip();
        Self {
            bike,
            setup,
            proven: true,
            air: ProvenIn { air, withdrawn: false },
            source,
            remark,
            stops: Vec::new(),
        }
    }

    /// A mark that was taken back.
    pub fn withdrawn(bike: &'a str, setup: u32) -> Self {
        Self {
            bike,
            setup,
            proven: false,
            air: ProvenIn { air: None, withdrawn: true },
            source: None,
            remark: None,
            stops: Vec::new(),
        }
    }

    /// The same with what speaks against running it.
    #[must_use]
    pub fn despite(self, stops: Vec<String>) -> Self {
        Self { stops, ..self }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let Self { bike, setup, .. } = self;
        if !self.proven {
            return format!("Setup {setup} of {bike} is no longer marked proven.");
        }
        let mut frame = Frame::new(screen);
        self.stops.iter().for_each(|stop| frame.stop(stop));
        if let (Some(air), Some(source)) = (&self.air.air, self.source) {
            let air = air.in_short(screen);
            frame.say(&format!("Setup {setup} of {bike} is proven, in {air} ({source})."));
        } else {
            frame.say(&format!("Setup {setup} of {bike} is proven, and has no air."));
            frame.know("None of its runs has one written down, so rejet cannot start from it. Say the air it was right in:");
            frame.command(&format!("reedbook proven {bike} {setup} --temp … --baro … --humidity …"));
        }
        self.remark.iter().for_each(|remark| frame.know(remark));
        frame.text()
    }
}
