//! What a step hands on and what it has to say.

use figure::{Frame, Plan, View};
use record::{
    Fault, Quantity, Record, Station, Unit, Warning,
    vector::Mat3,
    words::{of, worded},
};
use std::sync::Arc;

/// What passes from step to step; cheap to clone.
#[derive(Clone)]
pub struct State {
    /// The record as it now is.
    pub record: Record,
    /// The record as it was read and put in order, for "before".
    pub before: Record,
    /// The record as it left the step Elements, for the steps of Days.
    pub field: Option<Record>,
    /// The record before it was averaged, as finely as the log has it.
    pub fine: Option<Record>,
    /// The turning log, when one was opened.
    pub turning: Option<Arc<Record>>,
    /// An observatory's record, when one was opened.
    pub reference: Option<Arc<Reference>>,
    /// Where the sensor stood.
    pub station: Option<Station>,
    /// The Earth's field there by the model.
    pub model: Option<Arc<field::model::ModelField>>,
    /// The calibration that was applied.
    pub calibration: Option<Arc<field::calibration::Calibration>>,
    /// What is known of the uncertainty that all samples share.
    pub shared: Shared,
    /// In what frame the components stand.
    pub frame: FieldFrame,
}

/// An observatory's record and where it is from.
#[derive(Clone, Debug)]
pub struct Reference {
    /// Its name, for captions: the station's, or the file's.
    pub name: String,
    /// What its file says it holds, such as "variation" or "definitive" data; may be empty.
    pub kind: String,
    /// The record; components X Y Z, H D Z or others, by their roles.
    pub record: Record,
    /// Where the observatory stands, when its file says so.
    pub station: Option<Station>,
}

/// Uncertainty that all samples share, collected on the way.
#[derive(Clone, Debug, Default)]
pub struct Shared {
    /// Covariance of the components from the calibration, nT², in the frame
    /// of the components.
    pub component: Mat3,
    /// Relative standard uncertainty of the scale.
    pub scale: f64,
    /// Standard uncertainty of the levelling, degrees.
    pub tilt_deg: f64,
    /// Standard uncertainty of the known azimuth, degrees.
    pub azimuth_deg: f64,
    /// Standard uncertainty of what was taken off for the temperature, nT/°C along the sensor's
    /// axes; `None` when nothing was.
    pub warmth_nt_per_degc: Option<[f64; 3]>,
}

/// In what frame the components stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FieldFrame {
    /// The sensor's own axes.
    Sensor,
    /// Level, x forward, y right, z down; which way is north is not known.
    Level,
    /// X north, Y east, Z down; the sensor's x axis points to this azimuth.
    Geographic {
        /// Azimuth of the sensor's x axis from true north, degrees.
        azimuth_deg: f64,
    },
}

/// A named result for files.
#[derive(Clone, Debug)]
pub struct Named {
    /// Stable name, units in it.
    pub name: &'static str,
    /// The value.
    pub value: Value,
    /// Unit.
    pub unit: Unit,
    /// Standard uncertainty, in the shape of the value.
    pub sigma: Option<Value>,
}

/// The shapes a result comes in.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// One number.
    Number(f64),
    /// Several numbers.
    List(Vec<f64>),
    /// Rows of numbers.
    Rows(Vec<Vec<f64>>),
    /// A word.
    Text(String),
}

/// A result as the page prints it.
#[derive(Clone, Debug)]
pub struct Line {
    /// Stable name.
    pub name: String,
    /// What it is, such as "Declination D".
    pub label: String,
    /// The number with uncertainty and unit.
    pub text: String,
}

/// A table for `--out` and for the zip.
#[derive(Clone)]
pub struct Table {
    /// Stable name; the file is `name.csv`.
    pub name: String,
    /// Column names with units.
    pub columns: Vec<String>,
    /// Columns, all of one length.
    pub data: Vec<Vec<f64>>,
    /// Whether the first column holds times (nanoseconds beside it).
    pub times_ns: Option<Vec<i64>>,
}

type Planner = dyn Fn(&Frame, &View) -> Plan + Send + Sync;

/// A figure that can be planned for any room and any zoom.
#[derive(Clone)]
pub struct Figure {
    /// Stable name within the step.
    pub name: &'static str,
    /// Short title for the list of figures.
    pub title: &'static str,
    planner: Arc<Planner>,
}

/// The figures of a step.
pub type Figures = Vec<Figure>;

impl Figure {
    /// A figure from what plans it.
    pub fn new(
        name: &'static str,
        title: &'static str,
        planner: impl Fn(&Frame, &View) -> Plan + Send + Sync + 'static,
    ) -> Self {
        Self { name, title, planner: Arc::new(planner) }
    }

    /// The plan for a frame and a zoom.
    pub fn plan(&self, frame: &Frame, view: &View) -> Plan {
        (self.planner)(frame, view)
    }
}

/// What a step leaves behind.
#[derive(Clone)]
pub struct Outcome {
    /// What goes on to the next step.
    pub state: State,
    /// What was done, in counts and field units.
    pub remark: String,
    /// Results for files.
    pub values: Vec<Named>,
    /// Results for reading.
    pub lines: Vec<Line>,
    /// What a student should know.
    pub warnings: Vec<Warning>,
    /// Figures.
    pub figures: Figures,
    /// Tables.
    pub tables: Vec<Table>,
    /// Why nothing was done after all: the state is handed on as it came, and
    /// only the figures count.
    pub refused: Option<Fault>,
}

impl Outcome {
    /// An outcome that hands on a state and says a remark.
    pub fn new(state: State, remark: impl Into<String>) -> Self {
        Self {
            state,
            remark: of(remark.into()),
            values: Vec::new(),
            lines: Vec::new(),
            warnings: Vec::new(),
            figures: Vec::new(),
            tables: Vec::new(),
            refused: None,
        }
    }

    /// A refusal that figures can explain.
    pub fn refused(state: &State, fault: Fault) -> Self {
        Self { refused: Some(fault), ..Self::new(state.clone(), "") }
    }

    /// With a number.
    #[must_use]
    pub fn number(mut self, name: &'static str, value: f64, unit: Unit) -> Self {
        self.values.push(Named { name, value: Value::Number(value), unit, sigma: None });
        self
    }

    /// With a quantity, in the files and on the page.
    #[must_use]
    pub fn quantity(mut self, name: &'static str, label: &str, q: Quantity) -> Self {
        let sigma = q.sigma.is_finite().then_some(Value::Number(q.sigma));
        self.values.push(Named { name, value: Value::Number(q.value), unit: q.unit, sigma });
        self.line(name, label, q.readable())
    }

    /// With a line for reading.
    #[must_use]
    pub fn line(mut self, name: &str, label: &str, text: impl Into<String>) -> Self {
        let (name, label) = (name.to_owned(), worded(label));
        self.lines.push(Line { name, label, text: text.into() });
        self
    }

    /// With a named value of any shape.
    #[must_use]
    pub fn value(mut self, named: Named) -> Self {
        self.values.push(named);
        self
    }

    /// With a warning.
    #[must_use]
    pub fn warn(mut self, warning: Warning) -> Self {
        self.warnings.push(warning);
        self
    }

    /// With a figure.
    #[must_use]
    pub fn figure(mut self, figure: Figure) -> Self {
        self.figures.push(figure);
        self
    }
}
