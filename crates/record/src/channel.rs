//! A channel: one named quantity, one value a sample.

use crate::Unit;
use std::sync::Arc;

/// What a channel measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Magnetic field along the sensor's x, or north once oriented.
    X,
    /// Magnetic field along the sensor's y, or east once oriented.
    Y,
    /// Magnetic field along the sensor's z, or down once oriented.
    Z,
    /// Total field from a scalar instrument.
    F,
    /// Horizontal field H, as observatories report it.
    H,
    /// Declination D.
    D,
    /// Inclination I.
    I,
    /// Temperature.
    Temperature,
    /// Acceleration along x.
    AccelX,
    /// Acceleration along y.
    AccelY,
    /// Acceleration along z.
    AccelZ,
    /// Rotation rate about x.
    GyroX,
    /// Rotation rate about y.
    GyroY,
    /// Rotation rate about z.
    GyroZ,
    /// Air pressure.
    Pressure,
    /// Relative humidity.
    Humidity,
    /// Counts of events, such as a counter tube's.
    Counts,
    /// Ground motion.
    Motion,
    /// Anything else with numbers.
    Other,
}

impl Role {
    /// Stable name for files: `x`, `accel_x`, `temperature`, ...
    pub fn id(self) -> &'static str {
        match self {
            Self::X => "x",
            Self::Y => "y",
            Self::Z => "z",
            Self::F => "f",
            Self::H => "h",
            Self::D => "d",
            Self::I => "i",
            Self::Temperature => "temperature",
            Self::AccelX => "accel_x",
            Self::AccelY => "accel_y",
            Self::AccelZ => "accel_z",
            Self::GyroX => "gyro_x",
            Self::GyroY => "gyro_y",
            Self::GyroZ => "gyro_z",
            Self::Pressure => "pressure",
            Self::Humidity => "humidity",
            Self::Counts => "counts",
            Self::Motion => "motion",
            Self::Other => "other",
        }
    }

    /// The role with this stable name.
    pub fn from_id(id: &str) -> Option<Self> {
        const ALL: [Role; 19] = [
            Role::X,
            Role::Y,
            Role::Z,
            Role::F,
            Role::H,
            Role::D,
            Role::I,
            Role::Temperature,
            Role::AccelX,
            Role::AccelY,
            Role::AccelZ,
            Role::GyroX,
            Role::GyroY,
            Role::GyroZ,
            Role::Pressure,
            Role::Humidity,
            Role::Counts,
            Role::Motion,
            Role::Other,
        ];
        ALL.into_iter().find(|role| role.id() == id)
    }
}

/// One named quantity with one value a sample; missing values are NaN.
/// Cheap to clone: the values are shared.
#[derive(Clone, Debug, PartialEq)]
pub struct Channel {
    /// Name as the log has it, or as the step that made it calls it.
    pub name: String,
    /// What it measures.
    pub role: Role,
    /// Unit of the values.
    pub unit: Unit,
    /// One value a sample.
    pub values: Arc<Vec<f64>>,
}

impl Channel {
    /// A channel from its values.
    pub fn new(name: impl Into<String>, role: Role, unit: Unit, values: Vec<f64>) -> Self {
        Self { name: name.into(), role, unit, values: Arc::new(values) }
    }

    /// The same channel with other values and unit.
    #[must_use]
    pub fn with_values(&self, unit: Unit, values: Vec<f64>) -> Self {
        Self { name: self.name.clone(), role: self.role, unit, values: Arc::new(values) }
    }
}
