//! What a calculation calls a quantity that a document holds under a field of its own: who turns a refusal into that field
//! asks for these, not for their wording.

/// The advance of a curve.
pub const ADVANCE: &str = "advance";
/// The squish band's angle to the piston.
pub const BAND_ANGLE: &str = "band angle";
/// The squish band's width.
pub const BAND_WIDTH: &str = "band width";
/// The cylinder's bore.
pub const BORE: &str = "bore";
/// The chamber's volume.
pub const CHAMBER_VOLUME: &str = "chamber volume";
/// The crankcase's volume.
pub const CRANKCASE_VOLUME: &str = "crankcase volume";
/// The main jet.
pub const MAIN: &str = "main";
/// The needle.
pub const NEEDLE: &str = "needle";
/// The needle jet.
pub const NEEDLE_JET: &str = "needle jet";
/// The oil's density.
pub const OIL_DENSITY: &str = "oil density";
/// The piston pin's offset.
pub const PIN_OFFSET: &str = "pin offset";
/// The rod's length between centres.
pub const ROD: &str = "rod";
/// The piston skirt's length.
pub const SKIRT_LENGTH: &str = "skirt length";
/// The squish clearance.
pub const SQUISH_CLEARANCE: &str = "squish clearance";
/// The stinger's diameter.
pub const STINGER_DIAMETER: &str = "stinger diameter";
/// The stroke.
pub const STROKE: &str = "stroke";
