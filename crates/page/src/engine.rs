//! What the worker holds: one analysis, fed with bytes and edits.
//!
//! JSON text and bytes in and out; the work is `procedure::session`'s.  A
//! fault is thrown as the JSON text of its four fields.  A panic ends the
//! worker, and the page starts another from the files and the procedure.

use crate::fault::{Answer, misasked, thrown};
use crate::request;
use figure::{Frame, Plan};
use js_sys::Function;
use procedure::auto::{Hints, Stand};
use procedure::handin::{self, Written};
use procedure::session::{Edit, Session};
use procedure::{Choices, Procedure, Reader, archive, json, link};
use record::{Fault, Station, words::word};
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

/// Height of text in a figure on the screen, CSS pixels.
const FONT_PX: f64 = 13.0;

/// How well the invented school's bubble level holds, degrees.
const LEVELLED_TO_DEG: f64 = 0.5;

/// One analysis.
#[wasm_bindgen]
#[derive(Default)]
pub struct Engine {
    session: Session,
    reading: Option<Reading>,
}

// A file on its way in.
struct Reading {
    reader: Reader,
    choices: Choices,
    place: Option<usize>,
}

#[wasm_bindgen]
impl Engine {
    /// An analysis without logs.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        tell_panics();
        Self::default()
    }

    /// Begins to read a file; `choices` are the decisions of the reading that
    /// were changed, and `place` the open log to read again, if it is one.
    /// `expected` is how many bytes will come, where that is known, so that
    /// their room is made at once.
    ///
    /// # Errors
    ///
    /// `page/misasked` for choices that are no object of texts.
    pub fn begin(
        &mut self,
        name: &str,
        choices: &str,
        place: Option<u32>,
        expected: Option<f64>,
    ) -> Answer<()> {
        let given = request::choices(choices).map_err(thrown)?;
        let choices = self.session.choices_for(name, &given);
        let mut reader = Reader::new(name, &choices);
        reader.expect_bytes(expected.unwrap_or(0.0) as u64);
        let place = place.map(|place| place as usize);
        self.reading = Some(Reading { reader, choices, place });
        Ok(())
    }

    /// Leaves the hash of the bytes to the caller, who says it at the end.
    ///
    /// # Errors
    ///
    /// `page/misasked` when no file was begun.
    pub fn leave_hash(&mut self) -> Answer<()> {
        self.reading.as_mut().ok_or_else(nothing_begun)?.reader.leave_hash();
        Ok(())
    }

    /// Takes in the next bytes of the file.
    ///
    /// # Errors
    ///
    /// The reading's fault; the analysis stays as it was.
    pub fn push(&mut self, bytes: &[u8]) -> Answer<()> {
        let reading = self.reading.as_mut().ok_or_else(nothing_begun)?;
        let pushed = reading.reader.push(bytes);
        if pushed.is_err() {
            self.reading = None;
        }
        pushed.map_err(thrown)
    }

    /// Ends the file and takes it in, with its SHA-256 if that was left to the
    /// caller; nothing is run yet.
    ///
    /// # Errors
    ///
    /// The reading's fault; the analysis stays as it was.
    pub fn finish(&mut self, sha256: Option<String>) -> Answer<()> {
        let mut held = self.reading.take().ok_or_else(nothing_begun)?;
        held.reader.set_sha256(&sha256.unwrap_or_default());
        let Reading { reader, choices, place } = held;
        match place {
            Some(place) => self.session.reread(place, reader, &choices),
            None => self.session.take(reader, &choices),
        }
        .map_err(thrown)
    }

    /// Makes an invented log and takes it in: `sixty-days`, `ten-days` or
    /// `turning`.
    ///
    /// # Errors
    ///
    /// `page/misasked` for another name.
    pub fn add_demo(&mut self, kind: &str, choices: &str, place: Option<u32>) -> Answer<()> {
        let log = demo(kind).map_err(thrown)?;
        self.session.set_hints(notebook());
        self.begin(&log.name, choices, place, Some(log.bytes.len() as f64))?;
        self.push(&log.bytes)?;
        self.finish(None)
    }

    /// Takes a log out.
    pub fn remove_input(&mut self, place: u32) {
        self.session.remove_input(place as usize);
    }

    /// Makes an edit; nothing is run yet.
    ///
    /// # Errors
    ///
    /// A fault when the edit cannot be made; nothing is changed then.
    pub fn edit(&mut self, json: &str) -> Answer<()> {
        let asked = request::json(json).map_err(thrown)?;
        let edit = Edit::from_json(&asked).ok_or_else(|| thrown(misasked(json)))?;
        self.session.edit(edit).map_err(thrown)
    }

    /// Runs one step that needs it; true when nothing is left.  `tell` is called with the share of
    /// the procedure that is done, 0 to 1, while the step runs.
    pub fn advance(&mut self, tell: &Function) -> bool {
        // What goes wrong over there must not stop the work here.
        self.session.advance_telling(&|share| drop(tell.call1(&JsValue::NULL, &share.into())))
    }

    /// The share of the steps that hold, 0 to 1.
    pub fn fraction(&self) -> f64 {
        self.session.fraction()
    }

    /// Everything the page shows besides figures, as JSON.
    pub fn view(&mut self) -> String {
        self.session.view()
    }

    /// The same as far as it was run; the steps after that are waiting.
    pub fn view_so_far(&mut self) -> String {
        self.session.view_so_far()
    }

    /// Whether a step's outcome holds.
    pub fn reached(&self, step: u32) -> bool {
        self.session.reached(step as usize)
    }

    /// The plan of a figure for this room, CSS pixels, and zoom, as bytes.
    ///
    /// # Errors
    ///
    /// `procedure/no-figure` when the step has none of this name now.
    pub fn plan(
        &mut self,
        step: u32,
        name: &str,
        width_px: f64,
        height_px: f64,
        view: &str,
    ) -> Answer<Vec<u8>> {
        let frame = Frame { width_px, height_px, font_px: FONT_PX };
        self.planned(step, name, &frame, view).map_err(thrown)
    }

    /// The plan of a figure for paper, millimetres, as bytes.
    ///
    /// # Errors
    ///
    /// `procedure/no-figure` when the step has none of this name now.
    pub fn plan_print(
        &mut self,
        step: u32,
        name: &str,
        width_mm: f64,
        height_mm: f64,
        view: &str,
    ) -> Answer<Vec<u8>> {
        self.planned(step, name, &Frame::print(width_mm, height_mm), view).map_err(thrown)
    }

    fn planned(
        &mut self,
        step: u32,
        name: &str,
        frame: &Frame,
        view: &str,
    ) -> Result<Vec<u8>, Fault> {
        let view = request::view(view)?;
        let plan: Plan = self.session.plan(step as usize, name, frame, &view)?;
        Ok(figure::to_bytes(&plan))
    }

    /// A file of the whole: `processed-csv`, `procedure-json`, `methods` or
    /// `calibration-json` (empty when there is none).
    ///
    /// # Errors
    ///
    /// `page/misasked` for another name.
    pub fn export(&mut self, kind: &str) -> Answer<String> {
        match kind {
            "processed-csv" => Ok(self.session.processed_csv()),
            "procedure-json" => Ok(json::text(&self.session.whole_procedure().to_json())),
            "methods" => Ok(self.session.methods()),
            "calibration-json" => Ok(self.session.calibration_json().unwrap_or_default()),
            other => Err(thrown(misasked(other))),
        }
    }

    /// The share link's fragment; `view` is a JSON object of what the page
    /// adds, such as the step in hand.
    ///
    /// # Errors
    ///
    /// `page/misasked` for text that is no JSON.
    pub fn link(&self, view: &str) -> Answer<String> {
        let view = request::json(view).map_err(thrown)?;
        Ok(link::write(&handin::link_content(&self.session, &view)))
    }

    /// What a link's fragment holds, as JSON.
    ///
    /// # Errors
    ///
    /// The faults of [`procedure::link::read`], and those of its procedure.
    pub fn read_link(&self, fragment: &str) -> Answer<String> {
        let content = link::read(fragment).map_err(thrown)?;
        Procedure::from_json(&content).map_err(thrown)?;
        Ok(json::text(&content))
    }

    /// The hand-in as HTML; `written` is what the student wrote, as JSON.
    ///
    /// # Errors
    ///
    /// `page/misasked` for text that is no JSON.
    pub fn hand_in(&mut self, written: &str) -> Answer<String> {
        let written = request::json(written).map_err(thrown)?;
        Ok(handin::html(&mut self.session, &Written::from_json(&written)))
    }

    /// The work inside a hand-in, as JSON.
    ///
    /// # Errors
    ///
    /// `handin/none` when there is none, and the procedure's own faults.
    pub fn read_hand_in(&self, html: &str) -> Answer<String> {
        handin::read(html).map(|work| json::text(&work)).map_err(thrown)
    }

    /// Everything as one zip whose files lie in `folder`.
    ///
    /// # Errors
    ///
    /// `page/misasked` for text that is no JSON.
    pub fn archive(&mut self, written: &str, folder: &str) -> Answer<Vec<u8>> {
        let written = request::json(written).map_err(thrown)?;
        let files = archive::files(&mut self.session, &Written::from_json(&written));
        Ok(archive::zip(folder, &files))
    }
}

fn nothing_begun() -> JsValue {
    thrown(misasked(word("bytes of a file that was not begun")))
}

// What the invented school's notebook says of the station and the stand.
fn notebook() -> Hints {
    let scenario = specimen::default_scenario();
    let place = &scenario.garden;
    let (azimuth_deg, azimuth_sigma_deg) = scenario.notebook_azimuth_deg;
    Hints {
        station: Station::new(place.name, place.latitude_deg, place.longitude_deg, place.height_m)
            .ok(),
        stand: Some(Stand { azimuth_deg, azimuth_sigma_deg, tilt_sigma_deg: LEVELLED_TO_DEG }),
    }
}

fn demo(kind: &str) -> Result<specimen::Log, Fault> {
    match kind {
        "sixty-days" => Ok(specimen::sixty_days(specimen::DEFAULT_SEED)),
        "ten-days" => Ok(specimen::ten_days(specimen::DEFAULT_SEED)),
        "turning" => Ok(specimen::turning(specimen::DEFAULT_SEED)),
        other => Err(misasked(other)),
    }
}

// A panic stops wasm with a bare "unreachable"; its words go to the page as
// an error thrown beforehand.  What is published is built without such words
// (see `xtask`): there only the end itself is told.
#[cfg(target_arch = "wasm32")]
fn tell_panics() {
    std::panic::set_hook(Box::new(|info| {
        let words = JsValue::from_str(&info.to_string());
        let key = JsValue::from_str("lodelogPanic");
        // Nothing more can be done where even this is refused.
        let _ = js_sys::Reflect::set(&js_sys::global(), &key, &words);
    }));
}

#[cfg(not(target_arch = "wasm32"))]
fn tell_panics() {}
