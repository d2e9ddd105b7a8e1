//! What a figure is asked for: the room, the part of the data, the words.

/// Millimetres in an inch.
const MM_PER_INCH: f64 = 25.4;
/// CSS pixels in an inch (CSS Values and Units, "absolute lengths").
const PX_PER_INCH: f64 = 96.0;
/// Text of a printed figure, in points, such that raised digits keep 7 pt.
const PRINT_FONT_PT: f64 = 9.5;

/// The room a figure is laid out in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Width in CSS pixels.
    pub width_px: f64,
    /// Height in CSS pixels.
    pub height_px: f64,
    /// Height of ordinary text in CSS pixels.
    pub font_px: f64,
}

impl Frame {
    /// Room for a printed figure of this size in millimetres.  The height
    /// leaves space for the line of provenance that [`crate::svg`] adds, so
    /// that figure and line together are `height_mm` tall.
    ///
    /// ```
    /// let frame = figure::Frame::print(170.0, 100.0);
    /// assert!((frame.width_px - 642.52).abs() < 0.01);
    /// ```
    pub fn print(width_mm: f64, height_mm: f64) -> Self {
        let px = PX_PER_INCH / MM_PER_INCH;
        let font_px = PRINT_FONT_PT * PX_PER_INCH / 72.0;
        let strip = crate::draw::strip_px(font_px);
        Self { width_px: width_mm * px, height_px: height_mm * px - strip, font_px }
    }

    /// The same room with sizes that can be laid out: at least 160 by 90
    /// pixels, text from 6 to 96.  What is not a number becomes 640 by 360 at 13.
    pub(crate) fn usable(self) -> Self {
        let or = |value: f64, other: f64| if value.is_finite() { value } else { other };
        Self {
            width_px: or(self.width_px, 640.0).clamp(160.0, 8_000.0),
            height_px: or(self.height_px, 360.0).clamp(90.0, 8_000.0),
            font_px: or(self.font_px, 13.0).clamp(6.0, 96.0),
        }
    }
}

/// The part of the data shown; `None` shows all of it.
///
/// A time axis counts seconds since 1970-01-01T00:00:00Z; any other axis is in
/// its own unit.  These are the numbers [`crate::readout::data_span`] returns.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct View {
    /// From and to along x.
    pub x: Option<(f64, f64)>,
    /// From and to along y; of use only where a figure has one panel.
    pub y: Option<(f64, f64)>,
}

impl View {
    /// All of the data.
    pub const ALL: Self = Self { x: None, y: None };

    /// The x span when it is one: finite, and from before to.
    pub(crate) fn x_span(&self) -> Option<(f64, f64)> {
        self.x.and_then(sound)
    }

    /// The y span when it is one.
    pub(crate) fn y_span(&self) -> Option<(f64, f64)> {
        self.y.and_then(sound)
    }
}

fn sound((lo, hi): (f64, f64)) -> Option<(f64, f64)> {
    let (lo, hi) = if lo <= hi { (lo, hi) } else { (hi, lo) };
    (lo.is_finite() && hi.is_finite() && hi > lo).then_some((lo, hi))
}

/// The words that go with a figure; they are kept, not read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words {
    /// Stable name, for files: `series`, `spectrum`.
    pub name: String,
    /// Caption, as it stands beneath the figure.
    pub caption: String,
    /// Two to four sentences for a reader who cannot see it.
    pub summary: String,
    /// Log, hashes and version, in one line.
    pub provenance: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_span_given_backward_is_turned_round_and_an_empty_one_is_refused() {
        assert_eq!(View { x: Some((3.0, 1.0)), y: None }.x_span(), Some((1.0, 3.0)));
        assert_eq!(View { x: Some((1.0, 1.0)), y: None }.x_span(), None);
        assert_eq!(View { x: Some((f64::NAN, 1.0)), y: None }.x_span(), None);
    }

    #[test]
    fn room_without_a_size_is_given_one() {
        let frame = Frame { width_px: f64::NAN, height_px: -3.0, font_px: 0.0 }.usable();
        assert_eq!((frame.width_px, frame.height_px, frame.font_px), (640.0, 90.0, 6.0));
    }
}
