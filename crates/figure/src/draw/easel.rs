//! A backend with a scale and a palette: strokes, fills and boxes in pixels
//! of the plan.

use super::DrawFault;
use crate::clip;
use crate::model::{Colour, Dash, Rect};
use crate::palette::{Palette, Rgb};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, DrawingBackend, DrawingErrorKind,
};

/// A backend with a scale and a palette.
pub(super) struct Easel<'a, DB: DrawingBackend> {
    pub backend: &'a mut DB,
    pub palette: &'a Palette,
    pub scale: f64,
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pen {
    pub colour: Colour,
    pub width_px: f64,
    pub dash: Dash,
}

struct Style {
    colour: BackendColor,
    width: u32,
}

impl BackendStyle for Style {
    fn color(&self) -> BackendColor {
        self.colour
    }

    fn stroke_width(&self) -> u32 {
        self.width
    }
}

impl Pen {
    /// An unbroken line.
    pub(super) fn solid(colour: Colour, width_px: f64) -> Self {
        Self { colour, width_px, dash: Dash::Solid }
    }
}

impl<'a, DB: DrawingBackend> Easel<'a, DB> {
    pub(super) fn new(
        backend: &'a mut DB,
        palette: &'a Palette,
        scale: f64,
    ) -> Result<Self, DrawFault> {
        if scale > 0.0 && scale.is_finite() {
            Ok(Self { backend, palette, scale })
        } else {
            Err(DrawFault::Scale(scale.to_string()))
        }
    }

    pub(super) fn ready(&mut self) -> Result<(), DrawFault> {
        self.backend.ensure_prepared().map_err(refused)
    }

    pub(super) fn done(&mut self) -> Result<(), DrawFault> {
        self.backend.present().map_err(refused)
    }

    /// A length in the backend's units.
    pub(super) fn units(&self, px: f64) -> i32 {
        (px * self.scale).round().clamp(-1e9, 1e9) as i32
    }

    pub(super) fn place(&self, (x, y): (f64, f64)) -> BackendCoord {
        (self.units(x), self.units(y))
    }

    pub(super) fn shade(&self, colour: Colour, alpha: f64) -> BackendColor {
        let Rgb(r, g, b) = self.palette.rgb(colour);
        BackendColor { alpha, rgb: (r, g, b) }
    }

    fn style(&self, pen: Pen) -> Style {
        let width = self.units(pen.width_px).max(1) as u32;
        Style { colour: self.shade(pen.colour, 1.0), width }
    }

    /// A straight line; a level or upright one is sharp on every backend.
    pub(super) fn straight(
        &mut self,
        from: (f64, f64),
        to: (f64, f64),
        pen: Pen,
    ) -> Result<(), DrawFault> {
        if pen.dash != Dash::Solid {
            return self.path(&[from, to], pen);
        }
        let (from, to) = (self.place(from), self.place(to));
        let style = self.style(pen);
        self.backend.draw_line(from, to, &style).map_err(refused)
    }

    /// A line through points.
    pub(super) fn path(&mut self, points: &[(f64, f64)], pen: Pen) -> Result<(), DrawFault> {
        if pen.dash == Dash::Solid {
            return self.solid(points, pen);
        }
        for piece in dashed(points, pattern(pen.dash), pen.width_px) {
            self.solid(&piece, pen)?;
        }
        Ok(())
    }

    /// A line through points inside a rectangle; a point that is not finite
    /// ends a stroke, and a stroke of one point is a dot.
    pub(super) fn clipped(
        &mut self,
        points: impl Iterator<Item = (f64, f64)>,
        rect: &Rect,
        pen: Pen,
    ) -> Result<(), DrawFault> {
        for stroke in clip::strokes(points, rect) {
            match stroke[..] {
                [point] => self.dot(point, pen.width_px * 0.8, pen.colour)?,
                _ => self.path(&stroke, pen)?,
            }
        }
        Ok(())
    }

    fn solid(&mut self, points: &[(f64, f64)], pen: Pen) -> Result<(), DrawFault> {
        let mut path: Vec<BackendCoord> = points.iter().map(|p| self.place(*p)).collect();
        path.dedup();
        if path.len() == 1 {
            path.push(path[0]);
        }
        let style = self.style(pen);
        self.backend.draw_path(path, &style).map_err(refused)
    }

    /// A filled circle.
    pub(super) fn dot(
        &mut self,
        middle: (f64, f64),
        radius_px: f64,
        colour: Colour,
    ) -> Result<(), DrawFault> {
        let (at, radius) = (self.place(middle), self.units(radius_px).max(1) as u32);
        let style = self.shade(colour, 1.0);
        self.backend.draw_circle(at, radius, &style, true).map_err(refused)
    }

    /// A circle.
    pub(super) fn ring(
        &mut self,
        middle: (f64, f64),
        radius_px: f64,
        pen: Pen,
    ) -> Result<(), DrawFault> {
        let (at, radius) = (self.place(middle), self.units(radius_px).max(1) as u32);
        let style = self.style(pen);
        self.backend.draw_circle(at, radius, &style, false).map_err(refused)
    }

    /// A filled outline, as strongly as `alpha` says.
    pub(super) fn filled(
        &mut self,
        corners: &[(f64, f64)],
        colour: Colour,
        alpha: f64,
    ) -> Result<(), DrawFault> {
        if corners.len() < 3 || alpha <= 0.0 {
            return Ok(());
        }
        let path: Vec<BackendCoord> = corners.iter().map(|p| self.place(*p)).collect();
        let style = self.shade(colour, alpha);
        self.backend.fill_polygon(path, &style).map_err(refused)
    }

    /// A filled rectangle.
    pub(super) fn box_filled(
        &mut self,
        from: (f64, f64),
        to: (f64, f64),
        colour: Colour,
        alpha: f64,
    ) -> Result<(), DrawFault> {
        if alpha <= 0.0 {
            return Ok(());
        }
        let (from, to) = (self.place(from), self.place(to));
        let style = self.shade(colour, alpha);
        self.backend.draw_rect(from, to, &style, true).map_err(refused)
    }
}

#[allow(clippy::needless_pass_by_value, reason = "made for map_err")]
pub(super) fn refused<E: std::error::Error + Send + Sync>(error: DrawingErrorKind<E>) -> DrawFault {
    DrawFault::Backend(error.to_string())
}

/// Lengths of dash and gap in turn, in widths of the line.
fn pattern(dash: Dash) -> &'static [f64] {
    match dash {
        Dash::Solid => &[],
        Dash::Dashed => &[5.0, 3.0],
        Dash::Dotted => &[1.2, 2.2],
        Dash::DashDot => &[6.0, 2.4, 1.2, 2.4],
        Dash::Long => &[10.0, 3.5],
    }
}

/// A line of more dashes than this, on a sheet larger than any screen, is drawn
/// as one.
const MOST_DASHES: f64 = 20_000.0;

/// The dashes of a line.
fn dashed(points: &[(f64, f64)], pattern: &[f64], width_px: f64) -> Vec<Vec<(f64, f64)>> {
    let mut out = Vec::new();
    let length = |k: usize| pattern[k % pattern.len()] * width_px.max(0.8);
    let whole: f64 = points.windows(2).map(|w| libm::hypot(w[1].0 - w[0].0, w[1].1 - w[0].1)).sum();
    let shortest = pattern.iter().copied().fold(f64::INFINITY, f64::min) * width_px.max(0.8);
    // Also where a length is no number.
    let few = whole <= MOST_DASHES * shortest;
    if !few {
        return vec![points.to_vec()];
    }
    let (mut k, mut left) = (0, length(0));
    let mut piece: Vec<(f64, f64)> = points.first().copied().into_iter().collect();
    for pair in points.windows(2) {
        let (mut from, to) = (pair[0], pair[1]);
        let mut rest = libm::hypot(to.0 - from.0, to.1 - from.1);
        while rest > left {
            let share = left / rest;
            from = (from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1));
            rest -= left;
            if k % 2 == 0 {
                piece.push(from);
                out.push(std::mem::take(&mut piece));
            }
            k += 1;
            left = length(k);
            piece.clear();
            if k % 2 == 0 {
                piece.push(from);
            }
        }
        left -= rest;
        if k % 2 == 0 {
            piece.push(to);
        }
    }
    if k % 2 == 0 && piece.len() > 1 {
        out.push(piece);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_of_endless_dashes_is_drawn_as_one() {
        for far in [1e9, 1e300, f64::INFINITY] {
            let path = [(0.0, 0.0), (far, 0.0)];
            assert_eq!(dashed(&path, pattern(Dash::Dotted), 1.0), [path.to_vec()]);
        }
    }

    #[test]
    fn dashes_cover_their_share_of_a_line_round_its_corners() {
        let path = [(0.0, 0.0), (37.0, 0.0), (37.0, 43.0)];
        let pieces = dashed(&path, pattern(Dash::Dashed), 1.0);
        let length = |p: &Vec<(f64, f64)>| -> f64 {
            p.windows(2).map(|w| libm::hypot(w[1].0 - w[0].0, w[1].1 - w[0].1)).sum()
        };
        let drawn: f64 = pieces.iter().map(length).sum();
        assert!((drawn - 50.0).abs() < 1e-9, "{drawn}");
        assert_eq!(pieces.len(), 10);
    }
}
