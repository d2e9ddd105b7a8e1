//! What the colours of a plan look like: on paper, on a dark screen, in
//! print, or in the colours a reader's system insists on.
//!
//! Channels follow the Okabe–Ito set (M. Okabe and K. Ito, "Color Universal
//! Design", 2008), with the shades darkened that fall below a contrast of 3:1
//! on paper.

use crate::model::Colour;
use record::{Fault, say, words::word};
use serde_json::Value;
use std::fmt;

/// Red, green and blue, 0 to 255.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rgb(pub u8, pub u8, pub u8);

/// A shade for each meaning.
#[derive(Clone, Debug, PartialEq)]
pub struct Palette {
    /// Writing and black lines.
    pub ink: Rgb,
    /// Lesser writing, frames and ticks.
    pub soft: Rgb,
    /// Data in the background.
    pub faint: Rgb,
    /// Rules and separators.
    pub hairline: Rgb,
    /// The one accent.
    pub accent: Rgb,
    /// The ground.
    pub paper: Rgb,
    /// A shaded stretch.
    pub wash: Rgb,
    /// The channels.
    pub channels: [Rgb; 8],
    /// The reasons for leaving samples out, in the order of `record::Reason::ALL`.
    pub marked: [Rgb; 12],
    /// A scale from little to much: three stops.
    pub ramp: [Rgb; 3],
    /// How strongly areas are filled, 0 to 1; at 0 only their edges are drawn.
    pub fill: f64,
}

/// Why a palette could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PaletteFault {
    /// The text is not a JSON object.
    NotAnObject,
    /// A value is not a colour.
    NotAColour {
        /// The name it stood under.
        name: String,
        /// The value.
        value: String,
    },
    /// A name that means nothing here.
    UnknownName(String),
}

impl fmt::Display for PaletteFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotAnObject => {
                f.write_str(&say!("The colours of the figure are not a JSON object."))
            }
            Self::NotAColour { name, value } => {
                f.write_str(&say!("The figure's colour {name} is {value}, which is not a colour."))
            }
            Self::UnknownName(name) => f.write_str(&say!("A figure has no colour called {name}.")),
        }
    }
}

impl std::error::Error for PaletteFault {}

impl From<PaletteFault> for Fault {
    fn from(fault: PaletteFault) -> Self {
        let remedy = word("Write colours as #rrggbb or rgb(r, g, b).");
        Self::new("figure/palette", fault.to_string(), remedy)
    }
}

const fn rgb(hex: u32) -> Rgb {
    Rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

const fn marks(left_out: u32, stretch: u32, filled: u32) -> [Rgb; 12] {
    let (a, b, c) = (rgb(left_out), rgb(stretch), rgb(filled));
    [a, a, a, a, a, a, a, b, b, a, b, c]
}

const LIGHT_CHANNELS: [Rgb; 8] = [
    rgb(0x0072b2),
    rgb(0xc85200),
    rgb(0x008560),
    rgb(0xa64d80),
    rgb(0x8f6400),
    rgb(0x2a7fb0),
    rgb(0x55524b),
    rgb(0x7a7100),
];

const DARK_CHANNELS: [Rgb; 8] = [
    rgb(0x4ea6e0),
    rgb(0xef7b2e),
    rgb(0x1fb98c),
    rgb(0xd98fb8),
    rgb(0xe69f00),
    rgb(0x8fd0f5),
    rgb(0xbdb8ad),
    rgb(0xf0e442),
];

impl Palette {
    /// Ink on paper, for the screen by day.
    pub fn light() -> Self {
        Self {
            ink: rgb(0x23211c),
            soft: rgb(0x5d584d),
            faint: rgb(0x8c877a),
            hairline: rgb(0xcfc9ba),
            accent: rgb(0x9b2d1f),
            paper: rgb(0xfcfaf4),
            wash: rgb(0xb59a4c),
            channels: LIGHT_CHANNELS,
            marked: marks(0xa8123e, 0x7a4fa0, 0x00708a),
            ramp: [rgb(0xf1ead6), rgb(0x5f9ea0), rgb(0x14304e)],
            fill: 0.16,
        }
    }

    /// For a dark screen.
    pub fn dark() -> Self {
        Self {
            ink: rgb(0xece7da),
            soft: rgb(0xaaa496),
            faint: rgb(0x78736a),
            hairline: rgb(0x46433c),
            accent: rgb(0xe88a72),
            paper: rgb(0x1b1a17),
            wash: rgb(0xc9ad5c),
            channels: DARK_CHANNELS,
            marked: marks(0xff6b8e, 0xb896dd, 0x54c3dd),
            ramp: [rgb(0x26302f), rgb(0x3f8f94), rgb(0xf3e8c2)],
            fill: 0.22,
        }
    }

    /// Black on white, for paper and reports.
    pub fn print() -> Self {
        Self {
            ink: rgb(0x000000),
            soft: rgb(0x4a4a4a),
            faint: rgb(0x8a8a8a),
            hairline: rgb(0xbdbdbd),
            accent: rgb(0x8a1f12),
            paper: rgb(0xffffff),
            wash: rgb(0xa08a45),
            ramp: [rgb(0xf4f1e6), rgb(0x5f9ea0), rgb(0x0f2740)],
            ..Self::light()
        }
    }

    /// Colours a system insists on: everything in `ink`, set apart by dashes
    /// and markers; areas by their edges.
    pub fn forced(ink: Rgb, paper: Rgb, accent: Rgb) -> Self {
        Self {
            ink,
            soft: ink,
            faint: ink,
            hairline: ink,
            accent,
            paper,
            wash: accent,
            channels: [ink; 8],
            marked: [accent; 12],
            ramp: [paper, between(paper, ink, 0.5), ink],
            fill: 0.0,
        }
    }

    /// A palette the page has put together.
    ///
    /// A JSON object: `"base"` is `"light"` (assumed), `"dark"`, `"print"` or
    /// `"forced"`; `"ink"`, `"soft"`, `"faint"`, `"hairline"`, `"accent"`,
    /// `"paper"` and `"wash"` replace single colours; `"channels"` is a list
    /// that replaces the first channels.  Colours are `#rgb`, `#rrggbb`,
    /// `rgb(r, g, b)` or `rgba(r, g, b, a)`, as browsers report them.
    ///
    /// # Errors
    ///
    /// [`PaletteFault`] names what is not an object, a colour or a known name.
    pub fn from_json(text: &str) -> Result<Self, PaletteFault> {
        let Ok(Value::Object(given)) = serde_json::from_str::<Value>(text) else {
            return Err(PaletteFault::NotAnObject);
        };
        let base = given.get("base").and_then(Value::as_str).unwrap_or("light");
        let mut palette = Self::base(base, &given)?;
        for (name, value) in given.iter().filter(|(name, _)| *name != "base") {
            palette.set(name, value)?;
        }
        Ok(palette)
    }

    fn base(name: &str, given: &serde_json::Map<String, Value>) -> Result<Self, PaletteFault> {
        match name {
            "light" => Ok(Self::light()),
            "dark" => Ok(Self::dark()),
            "print" => Ok(Self::print()),
            "forced" => {
                let light = Self::light();
                let or = |name: &str, other| given.get(name).map_or(Ok(other), |v| colour(name, v));
                let ink = or("ink", light.ink)?;
                Ok(Self::forced(ink, or("paper", light.paper)?, or("accent", ink)?))
            }
            other => Err(PaletteFault::UnknownName(other.to_owned())),
        }
    }

    fn set(&mut self, name: &str, value: &Value) -> Result<(), PaletteFault> {
        let place = match name {
            "ink" => &mut self.ink,
            "soft" => &mut self.soft,
            "faint" => &mut self.faint,
            "hairline" => &mut self.hairline,
            "accent" => &mut self.accent,
            "paper" => &mut self.paper,
            "wash" => &mut self.wash,
            "channels" => {
                let list = value.as_array().map_or(&[][..], Vec::as_slice);
                for (place, value) in self.channels.iter_mut().zip(list) {
                    *place = colour(name, value)?;
                }
                return Ok(());
            }
            other => return Err(PaletteFault::UnknownName(other.to_owned())),
        };
        *place = colour(name, value)?;
        Ok(())
    }

    /// The shade of a meaning.
    pub fn rgb(&self, colour: Colour) -> Rgb {
        match colour {
            Colour::Ink => self.ink,
            Colour::Soft => self.soft,
            Colour::Faint => self.faint,
            Colour::Hairline => self.hairline,
            Colour::Accent => self.accent,
            Colour::Paper => self.paper,
            Colour::Wash => self.wash,
            Colour::Channel(k) => self.channels[usize::from(k) % 8],
            Colour::Marked(k) => self.marked[usize::from(k) % 12],
            Colour::Ramp(k) => {
                let share = f64::from(k) / 127.5;
                let [a, b, c] = self.ramp;
                if share <= 1.0 { between(a, b, share) } else { between(b, c, share - 1.0) }
            }
        }
    }
}

/// The shade a share of the way from one to another.
fn between(a: Rgb, b: Rgb, share: f64) -> Rgb {
    let mix = |a: u8, b: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * share).round() as u8;
    Rgb(mix(a.0, b.0), mix(a.1, b.1), mix(a.2, b.2))
}

fn colour(name: &str, value: &Value) -> Result<Rgb, PaletteFault> {
    let fault = || {
        let value = value.as_str().map_or_else(|| "…".to_owned(), |text| format!("\"{text}\""));
        PaletteFault::NotAColour { name: name.to_owned(), value }
    };
    value.as_str().and_then(|text| hex(text).or_else(|| function(text))).ok_or_else(fault)
}

fn hex(text: &str) -> Option<Rgb> {
    let digits = text.trim().strip_prefix('#')?;
    let value = u32::from_str_radix(digits, 16).ok()?;
    match digits.len() {
        6 => Some(rgb(value)),
        3 => {
            let twice = |v: u32| ((v & 15) * 17) as u8;
            Some(Rgb(twice(value >> 8), twice(value >> 4), twice(value)))
        }
        _ => None,
    }
}

fn function(text: &str) -> Option<Rgb> {
    let text = text.trim();
    let inner = text.strip_prefix("rgba(").or_else(|| text.strip_prefix("rgb("))?;
    let parts: Vec<f64> = inner
        .strip_suffix(')')?
        .split(|c: char| c == ',' || c == '/' || c.is_whitespace())
        .filter(|part| !part.is_empty())
        .take(3)
        .map(record::decimal::parse)
        .collect::<Option<_>>()?;
    let [r, g, b] = parts[..] else { return None };
    let byte = |v: f64| v.round().clamp(0.0, 255.0) as u8;
    Some(Rgb(byte(r), byte(g), byte(b)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Contrast of two colours, 1 to 21.  Source: WCAG 2.2, "contrast ratio"
    /// and "relative luminance".
    fn contrast(a: Rgb, b: Rgb) -> f64 {
        let part = |v: u8| {
            let v = f64::from(v) / 255.0;
            if v <= 0.04045 { v / 12.92 } else { libm::pow((v + 0.055) / 1.055, 2.4) }
        };
        let light = |c: Rgb| 0.2126 * part(c.0) + 0.7152 * part(c.1) + 0.0722 * part(c.2);
        let (a, b) = (light(a), light(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn writing_stands_out_at_least_4_5_to_1_and_every_line_at_least_3_to_1() {
        for p in [Palette::light(), Palette::dark(), Palette::print()] {
            for text in [p.ink, p.soft, p.accent] {
                assert!(contrast(text, p.paper) >= 4.5, "{text:?}");
            }
            for line in p.channels.iter().chain(&p.marked).chain([&p.faint]) {
                assert!(contrast(*line, p.paper) >= 3.0, "{line:?}");
            }
        }
    }

    #[test]
    fn contrast_agrees_with_the_extremes_of_its_definition() {
        assert!((contrast(rgb(0), rgb(0xff_ffff)) - 21.0).abs() < 1e-9);
        // 4.54:1 for #767676 on white, the published borderline of WCAG level AA.
        assert!((contrast(rgb(0x76_7676), rgb(0xff_ffff)) - 4.54).abs() < 0.005);
    }

    #[test]
    fn forced_colours_leave_nothing_but_the_three_given() {
        let p = Palette::from_json(
            r##"{"base":"forced","ink":"rgb(255, 255, 0)","paper":"#000","accent":"rgba(0, 255, 255, 1)"}"##,
        )
        .unwrap();
        for k in 0..8 {
            assert_eq!(p.rgb(Colour::Channel(k)), Rgb(255, 255, 0));
        }
        assert_eq!(p.rgb(Colour::Marked(3)), Rgb(0, 255, 255));
        assert_eq!((p.paper, p.fill), (Rgb(0, 0, 0), 0.0));
    }

    #[test]
    fn what_is_not_a_colour_is_named() {
        let fault = Palette::from_json(r#"{"ink":"blueish"}"#).unwrap_err();
        assert_eq!(
            fault.to_string(),
            "The figure's colour ink is \"blueish\", which is not a colour."
        );
        assert_eq!(Palette::from_json("[]"), Err(PaletteFault::NotAnObject));
        assert!(Palette::from_json(r##"{"inks":"#000000"}"##).is_err());
    }

    #[test]
    fn a_ramp_grows_steadily_apart_from_the_paper() {
        for p in [Palette::light(), Palette::dark(), Palette::print()] {
            let steps = (0..=255).map(|k| contrast(p.rgb(Colour::Ramp(k)), p.paper));
            let steps: Vec<f64> = steps.collect();
            assert!(steps.windows(2).all(|w| w[1] >= w[0] - 0.05));
            assert!(steps[255] > 10.0);
        }
    }
}
