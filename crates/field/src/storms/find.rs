//! Candidates for storms, and jumps, each put before the weighing.

use super::level::{Local, local};
use super::reasons::{Reason, Verdict};
use super::weigh::{self, Context};
use super::{Even, Jump, Options, jump::Search};
use crate::days::Days;
use crate::quiet_day::QuietDay;
use record::{Instant, NANOS_PER_SECOND};

const HOUR_NS: i64 = 3_600 * NANOS_PER_SECOND;

/// How far a jump must stand out of the usual differences in the hours before a main phase.
const BEFORE_SIGMAS: f64 = 4.0;

/// How far the jump must stand out when the reference tells its time.
const BESIDE_SIGMAS: f64 = 2.0;

/// How far apart in time a jump may be in two records, nanoseconds.
const QUARTER_NS: i64 = HOUR_NS / 4;

/// Seconds within which a commencement is felt at all longitudes, as a standard uncertainty:
/// about a minute in all (textbook summaries; common practice).
const EVERYWHERE_S: f64 = 30.0;

/// Hours before the main phase in which a commencement is looked for.
const BEFORE_H: i64 = 12;

/// What one station has to show.
#[derive(Clone, Copy)]
pub struct Sight<'a> {
    /// Days whose first component is the horizontal field along its mean direction, nT.
    pub days: &'a Days,
    /// Their quiet day.
    pub quiet: &'a QuietDay,
    /// The same field in fine steps.
    pub even: &'a Even,
    /// Longitude, degrees east.
    pub longitude_deg: f64,
}

/// A stretch of low field.
#[derive(Clone, Debug, PartialEq)]
pub struct Storm {
    /// The jump, when there is one in the twelve hours before the main phase, or else the
    /// beginning of the main phase.
    pub onset: Instant,
    /// Standard uncertainty of the onset, seconds.
    pub onset_sigma_s: f64,
    /// Whether the reference's jump helped to time the onset.
    pub timed_by_both: bool,
    /// The jump, when there is one.
    pub jump: Option<Jump>,
    /// Start of the main phase: the hour from which the disturbance stays below a quarter of
    /// [`Options::depth_nt`].
    pub main_phase: Instant,
    /// Middle of the hour with the lowest mean.
    pub deepest: Instant,
    /// That mean, nT, negative.
    pub depth_nt: f64,
    /// Its standard uncertainty, nT.
    pub depth_sigma_nt: f64,
    /// Hours for which the disturbance was below half of that, up to the end.
    pub hours_below_half: usize,
    /// When it is back above that quarter for three hours; `None` when the record ends first.
    pub end: Option<Instant>,
    /// What it is held to be.
    pub verdict: Verdict,
    /// Why.
    pub reasons: Vec<Reason>,
}

/// A jump outside storms.
#[derive(Clone, Debug, PartialEq)]
pub struct Noted {
    /// The jump.
    pub jump: Jump,
    /// What it is held to be; [`Verdict::Storm`] is not used.
    pub verdict: Verdict,
    /// Why.
    pub reasons: Vec<Reason>,
}

/// All that was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// Stretches of low field, in order of time: storms and others.
    pub candidates: Vec<Storm>,
    /// Jumps outside the storms that stand out alone, in order of time.
    pub jumps: Vec<Noted>,
    /// The station's local disturbance.
    pub local: Local,
    /// The reference's, when there is one.
    pub reference: Option<Local>,
    /// Robust standard deviation of the differences that jumps are held against, nT, along the
    /// horizontal field.
    pub usual_nt: f64,
}

impl Found {
    /// The candidates that are held to be storms.
    pub fn storms(&self) -> impl Iterator<Item = &Storm> {
        self.candidates.iter().filter(|c| c.verdict == Verdict::Storm)
    }
}

/// Looks through a station's record, with the reference's beside it when there is one.
pub fn search(station: &Sight<'_>, reference: Option<&Sight<'_>>, options: &Options) -> Found {
    let look = Search::new(station.even);
    let jumps = look.all(options.jump_sigmas, options.jump_nt);
    let theirs = reference.map(|r| Search::new(r.even));
    let mut context = Context {
        look: &look,
        theirs: theirs.as_ref(),
        jumps: &jumps,
        local: local(station.days, 0, station.quiet, &[], station.longitude_deg),
        reference: reference.map(|r| local(r.days, 0, r.quiet, &[], r.longitude_deg)),
        longitude_deg: station.longitude_deg,
    };
    let moved: Vec<Instant> =
        jumps.iter().filter(|j| weigh::moved(&context, j)).map(|j| j.time).collect();
    if !moved.is_empty() {
        context.local = local(station.days, 0, station.quiet, &moved, station.longitude_deg);
    }
    let mut candidates = low_stretches(&context.local, options);
    for candidate in &mut candidates {
        add_onset(candidate, &context, options);
        (candidate.verdict, candidate.reasons) = weigh::candidate(&context, candidate);
    }
    let noted = jumps
        .iter()
        .filter(|j| !candidates.iter().any(|c| inside(c, j)))
        .map(|jump| {
            let (verdict, reasons) = weigh::lone_jump(&context, jump);
            Noted { jump: *jump, verdict, reasons }
        })
        .collect();
    let usual_nt = look.usual_nt[0];
    let Context { local, reference, .. } = context;
    Found { candidates, jumps: noted, local, reference, usual_nt }
}

/// Whether a jump belongs to a storm or a bay: from a little before its onset to its end.
fn inside(candidate: &Storm, jump: &Jump) -> bool {
    let natural = matches!(candidate.verdict, Verdict::Storm | Verdict::Bay);
    let end = candidate.end.map_or(i64::MAX, |e| e.0);
    natural && (candidate.onset.0 - HOUR_NS..end).contains(&jump.time.0)
}

fn low_stretches(local: &Local, options: &Options) -> Vec<Storm> {
    let hours = &local.hours;
    let quarter = -0.25 * options.depth_nt;
    let mut out = Vec::new();
    let mut hour = 0;
    while hour < hours.len() {
        // NaN compares as neither.
        if hours[hour] > -options.depth_nt || hours[hour].is_nan() {
            hour += 1;
            continue;
        }
        let start = (0..hour).rev().find(|h| hours[*h] > quarter).map_or(0, |h| h + 1);
        let back = |h: &usize| (*h..h + 3).all(|h| hours.get(h).is_some_and(|v| *v > quarter));
        let end = (hour..hours.len()).find(back);
        let span = start..end.unwrap_or(hours.len());
        let deepest = span
            .clone()
            .filter(|h| !hours[*h].is_nan())
            .min_by(|a, b| hours[*a].total_cmp(&hours[*b]))
            .unwrap_or(hour);
        let half = span.clone().filter(|h| hours[*h] < 0.5 * hours[deepest]).count();
        out.push(Storm {
            onset: local.hour(start),
            onset_sigma_s: 3_600.0,
            timed_by_both: false,
            jump: None,
            main_phase: local.hour(start),
            deepest: Instant(local.hour(deepest).0 + HOUR_NS / 2),
            depth_nt: hours[deepest],
            depth_sigma_nt: local.sigma_of(deepest),
            hours_below_half: half,
            end: end.map(|h| local.hour(h)),
            verdict: Verdict::Undecided,
            reasons: Vec::new(),
        });
        hour = span.end.max(hour + 1);
    }
    out
}

/// Looks for the commencement, here and in the reference, and times the onset by both.
fn add_onset(storm: &mut Storm, context: &Context<'_>, options: &Options) {
    let from = Instant(storm.main_phase.0 - BEFORE_H * HOUR_NS);
    let to = Instant(storm.main_phase.0 + HOUR_NS);
    let theirs =
        context.theirs.and_then(|t| t.rise(from, to, options.jump_sigmas, options.jump_nt));
    let near = |j: &Jump| Instant(j.time.0 - QUARTER_NS)..Instant(j.time.0 + QUARTER_NS);
    let ours = context.look.rise(from, to, BEFORE_SIGMAS, options.jump_nt).or_else(|| {
        // Where the reference tells when to look, less will do.
        let span = near(theirs.as_ref()?);
        context.look.rise(span.start, span.end, BESIDE_SIGMAS, 0.0)
    });
    let Some(jump) = ours else { return };
    storm.onset = jump.time;
    storm.onset_sigma_s = jump.time_sigma_s;
    storm.jump = Some(jump);
    let Some(theirs) = theirs.filter(|t| near(t).contains(&jump.time)) else { return };
    // Each weighs by what it knows; a commencement is felt everywhere within about a minute.
    let (a, b) = (jump.time_sigma_s, libm::hypot(theirs.time_sigma_s, EVERYWHERE_S));
    let share = a * a / (a * a + b * b);
    let ahead = (theirs.time.0 - jump.time.0) as f64;
    storm.onset = Instant(jump.time.0 + (share * ahead) as i64);
    storm.onset_sigma_s = a * b / libm::hypot(a, b);
    storm.timed_by_both = true;
}
