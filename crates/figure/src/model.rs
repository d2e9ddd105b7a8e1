//! The parts of a plan: plain data, ready to be drawn, read out or sent.
//!
//! Lengths and places on the sheet are in CSS pixels from its top left
//! corner.  Data stay in the units of their axes; on a time axis they are
//! seconds since the axis' origin.  NaN in a line ends a stroke.

use serde::{Deserialize, Serialize};

/// A figure, decided in full.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// Stable name, for files.
    pub name: String,
    /// Caption beneath the figure.
    pub caption: String,
    /// Two to four sentences for a reader who cannot see it.
    pub summary: String,
    /// Log, hashes and version, in one line.
    pub provenance: String,
    /// Width of the sheet.
    pub width_px: f64,
    /// Height of the sheet.
    pub height_px: f64,
    /// Height of ordinary text.
    pub font_px: f64,
    /// The panels, top to bottom, then left to right.
    pub panels: Vec<Panel>,
    /// Hairlines outside the data: leaders, keys, separators.
    pub strokes: Vec<Stroke>,
    /// Everything written on the sheet.
    pub labels: Vec<Label>,
}

/// A rectangle on the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rect {
    /// Left edge.
    pub x: f64,
    /// Top edge.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

/// One set of axes with what is drawn between them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Panel {
    /// What the panel shows, for tables and readouts.
    pub name: String,
    /// The frame.
    pub rect: Rect,
    /// How the frame is drawn.
    pub outline: Outline,
    /// The axis along the bottom.
    pub x: Axis,
    /// The axis along the left.
    pub y: Axis,
    /// Ticks along the top that differ from those at the bottom, in x.
    pub top: Option<Vec<Tick>>,
    /// What is drawn, in this order.
    pub layers: Vec<Layer>,
}

/// How the edge of a panel looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Outline {
    /// Four sides with ticks that point inward.
    Frame,
    /// The circle that just fits, without ticks.
    Circle,
    /// Nothing.
    Open,
}

/// How numbers become places along an axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Scale {
    /// Evenly.
    Linear,
    /// By their logarithm; only positive numbers have a place.
    Log10,
    /// Evenly, in seconds since `origin_ns` nanoseconds of UTC.
    Time {
        /// Nanoseconds since 1970-01-01T00:00:00Z.
        origin_ns: i64,
    },
}

/// An axis: its span, its ticks, its words.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Axis {
    /// How numbers become places.
    pub scale: Scale,
    /// At the left or bottom end.
    pub lo: f64,
    /// At the right or top end.
    pub hi: f64,
    /// Ticks with their labels; an empty label is not written.
    pub ticks: Vec<Tick>,
    /// Ticks between.
    pub minor: Vec<f64>,
    /// As it is written at the end of the axis: `H / nT`.
    pub title: Vec<Run>,
    /// The quantity, in words.
    pub quantity: String,
    /// Unit as printed.
    pub unit: String,
    /// Unit in ASCII, for files.
    pub unit_ascii: String,
    /// For angles that wrap at 360 degrees: the lowest one written.
    pub wraps_from: Option<f64>,
}

/// A tick.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tick {
    /// Where, in the axis' numbers.
    pub at: f64,
    /// What is written beside it.
    pub text: Vec<Run>,
}

/// A piece of writing in one style.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Run {
    /// The characters.
    pub text: String,
    /// Raised, lowered or neither.
    pub script: Script,
    /// Slanted, as single-letter quantities are.
    pub italic: bool,
}

/// Whether a piece of writing is raised or lowered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Script {
    /// On the line.
    Plain,
    /// Raised and smaller.
    Super,
    /// Lowered and smaller.
    Sub,
}

/// Which point of a label its place means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Anchor {
    /// Its left end.
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// What a label is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Duty {
    /// Beside a tick.
    Tick,
    /// The day, month or year that ticks stand in.
    Context,
    /// At the end of an axis.
    Title,
    /// Beside a line, in place of a legend.
    Direct,
    /// A remark.
    Note,
}

/// Something written on the sheet.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Label {
    /// What is written.
    pub runs: Vec<Run>,
    /// Where the anchor stands.
    pub x_px: f64,
    /// Where the baseline stands.
    pub y_px: f64,
    /// Which point of it `x_px` means.
    pub anchor: Anchor,
    /// Height of the text.
    pub size_px: f64,
    /// Its colour.
    pub colour: Colour,
    /// Whether the paper shows round it, over lines.
    pub clear: bool,
    /// What it is for.
    pub duty: Duty,
}

/// A line on the sheet, outside the data.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stroke {
    /// Its corners.
    pub path: Vec<(f64, f64)>,
    /// Its colour.
    pub colour: Colour,
    /// Its width.
    pub width_px: f64,
    /// Its dashes.
    pub dash: Dash,
    /// A marker at its middle.
    pub marker: Option<Shape>,
}

/// What a colour means; a palette says which one it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Colour {
    /// Writing and black lines.
    Ink,
    /// Lesser writing, frames and ticks.
    Soft,
    /// Data in the background.
    Faint,
    /// Rules and separators.
    Hairline,
    /// The one accent.
    Accent,
    /// The ground.
    Paper,
    /// A shaded stretch.
    Wash,
    /// A channel, 0 to 7.
    Channel(u8),
    /// A reason why samples are left out: its place in `record::Reason::ALL`.
    Marked(u8),
    /// A shade of a scale from little (0) to much (255).
    Ramp(u8),
}

/// Dashes, so that colour is never the only difference.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Dash {
    /// Unbroken.
    Solid,
    /// Dashes.
    Dashed,
    /// Dots.
    Dotted,
    /// Dash, dot.
    DashDot,
    /// Long dashes.
    Long,
}

/// Markers, so that colour is never the only difference.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Shape {
    /// A filled dot.
    Dot,
    /// A ring.
    Ring,
    /// An open square.
    Square,
    /// An open triangle, point up.
    Triangle,
    /// An open diamond.
    Diamond,
    /// A diagonal cross.
    Cross,
    /// An upright cross.
    Plus,
    /// An open triangle, point down.
    Wedge,
    /// A filled caret at the top edge: more lies above.
    Above,
    /// A filled caret at the bottom edge: more lies below.
    Below,
}

/// What is drawn between the axes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Layer {
    /// A line through samples.
    Line(Line),
    /// Single samples.
    Points(Points),
    /// The room between two lines.
    Band(Band),
    /// Bars.
    Bars(Bars),
    /// A shaded stretch of x.
    Span(Span),
    /// A straight line across the panel.
    Rule(Rule),
    /// Upright intervals with caps.
    Whiskers(Whiskers),
    /// Shaded patches.
    Cells(Cells),
}

/// A line through samples.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// What it is.
    pub name: String,
    /// Its colour.
    pub colour: Colour,
    /// Its width.
    pub width_px: f64,
    /// Its dashes.
    pub dash: Dash,
    /// Markers set along it at a distance.
    pub marker: Option<Shape>,
    /// Along x; NaN ends a stroke.
    pub x: Vec<f64>,
    /// Along y; NaN ends a stroke.
    pub y: Vec<f64>,
    /// By how much `y` was lifted to keep the line apart from others in its panel; taken off again
    /// in tables and readouts.
    pub lift: f64,
    /// How many samples it stands for.
    pub samples: u64,
    /// Whether it is data, to be read out and written to tables.
    pub data: bool,
}

/// Single samples.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Points {
    /// What they are.
    pub name: String,
    /// Their colour.
    pub colour: Colour,
    /// Their shape.
    pub shape: Shape,
    /// Width of one.
    pub size_px: f64,
    /// Along x.
    pub x: Vec<f64>,
    /// Along y.
    pub y: Vec<f64>,
    /// How many samples they stand for.
    pub samples: u64,
    /// Whether they are data, to be read out and written to tables.
    pub data: bool,
}

/// The room between two lines.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Band {
    /// What it is.
    pub name: String,
    /// Its colour, drawn thinly.
    pub colour: Colour,
    /// Along x; NaN ends a stretch.
    pub x: Vec<f64>,
    /// Lower edge.
    pub lo: Vec<f64>,
    /// Upper edge.
    pub hi: Vec<f64>,
    /// Whether it is data, to be written to tables.
    pub data: bool,
}

/// Bars.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bars {
    /// What they are.
    pub name: String,
    /// Left edges.
    pub x0: Vec<f64>,
    /// Right edges.
    pub x1: Vec<f64>,
    /// Heights; NaN where there is none to give.
    pub y: Vec<f64>,
    /// Where they stand.
    pub base: f64,
    /// A colour for each bar.
    pub colours: Vec<Colour>,
    /// Whether they are filled thinly, their edges drawn.
    pub thin: bool,
}

/// A shaded stretch of x.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Span {
    /// What it is.
    pub name: String,
    /// From.
    pub x0: f64,
    /// To.
    pub x1: f64,
    /// Its colour, drawn thinly.
    pub colour: Colour,
}

/// A straight line across the panel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rule {
    /// What it is.
    pub name: String,
    /// Where, in x when upright and in y when not.
    pub at: f64,
    /// Whether it stands upright.
    pub upright: bool,
    /// Its colour.
    pub colour: Colour,
    /// Its dashes.
    pub dash: Dash,
}

/// Upright intervals with caps.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Whiskers {
    /// What they are.
    pub name: String,
    /// Where along x.
    pub x: Vec<f64>,
    /// Lower ends.
    pub lo: Vec<f64>,
    /// Upper ends.
    pub hi: Vec<f64>,
    /// Their colour.
    pub colour: Colour,
    /// Whether they are data, to be written to tables.
    pub data: bool,
}

/// Shaded patches.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Cells {
    /// What their values are.
    pub name: String,
    /// Unit of the values, as printed.
    pub unit: String,
    /// Unit of the values in ASCII.
    pub unit_ascii: String,
    /// Whether hairlines part them.
    pub edged: bool,
    /// Whether they are data, to be read out and written to tables.
    pub data: bool,
    /// Corners of each patch.
    pub outlines: Vec<Vec<(f64, f64)>>,
    /// A value for each patch.
    pub values: Vec<f64>,
    /// A shade for each patch.
    pub colours: Vec<Colour>,
}
