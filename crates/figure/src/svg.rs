//! A plan as SVG: real text, true size in millimetres, nothing from outside.
//!
//! The drawing carries its name and summary as `title` and `desc`, its line of
//! provenance, and no script, style sheet or font.

mod backend;

use crate::draw;
use crate::model::Plan;
use crate::palette::Palette;
use backend::SvgBackend;

/// Units of the drawing to a pixel of the plan.
const FINE: f64 = 10.0;
/// Points in a millimetre.
const PT_PER_MM: f64 = 72.0 / 25.4;
/// No text is smaller than this in print.
const LEAST_PT: f64 = 7.0;

/// A plan as an SVG document of this size, with its line of provenance.
///
/// The plan keeps its shape: where the sizes' shapes differ, paper is left
/// free.  A plan laid out in [`crate::Frame::print`] of the same size fits
/// exactly.  Text that would be printed smaller than 7 pt is enlarged to that,
/// without a new layout.
pub fn svg(plan: &Plan, palette: &Palette, width_mm: f64, height_mm: f64) -> String {
    let (width_px, height_px) = (plan.width_px, draw::sheet_height_px(plan));
    let mm_per_px = (width_mm / width_px).min(height_mm / height_px);
    let least_px = LEAST_PT / PT_PER_MM / mm_per_px;
    let mut backend = SvgBackend::new(width_px, height_px, FINE, least_px);
    // The backend gathers text, which cannot fail; what was gathered stands.
    let drawn = draw::sheet(plan, palette, &mut backend, FINE);
    debug_assert!(drawn.is_ok());
    backend.document(plan, (width_mm, height_mm))
}
