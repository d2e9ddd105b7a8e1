//! Names for the depth of a storm.

/// Class of a storm by its lowest Dst.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    /// −30 to −50 nT.
    Weak,
    /// −50 to −100 nT.
    Moderate,
    /// −100 to −200 nT.
    Strong,
    /// −200 to −350 nT.
    Severe,
    /// Below −350 nT.
    Great,
}

impl Class {
    /// Stable name for files, and for reading.
    pub fn id(self) -> &'static str {
        match self {
            Self::Weak => "weak",
            Self::Moderate => "moderate",
            Self::Strong => "strong",
            Self::Severe => "severe",
            Self::Great => "great",
        }
    }
}

/// Class of a lowest Dst, nT; `None` above −30 or for NaN.  For one station's disturbance it is
/// "as of a moderate storm", no more.
///
/// # Source
///
/// Loewe and Prölss 1997, J. Geophys. Res. 102, 14209 (limits from memory).
pub fn class(lowest_nt: f64) -> Option<Class> {
    match lowest_nt {
        v if v <= -350.0 => Some(Class::Great),
        v if v <= -200.0 => Some(Class::Severe),
        v if v <= -100.0 => Some(Class::Strong),
        v if v <= -50.0 => Some(Class::Moderate),
        v if v <= -30.0 => Some(Class::Weak),
        _ => None,
    }
}
