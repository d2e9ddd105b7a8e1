//! Weighs what speaks for the Sun against what speaks for something nearby.

use super::find::Storm;
use super::jump::{Jump, Search};
use super::level::Local;
use super::reasons::{Reason, Verdict, nt};
use record::vector::{dot, norm, sub};
use record::{Instant, NANOS_PER_SECOND, print, say, words::word};

const HOUR_NS: i64 = 3_600 * NANOS_PER_SECOND;

/// Edges of this length or less are sharper than any commencement, which takes two to six minutes
/// (textbook summaries; common practice), seconds.
const SHARP_S: f64 = 60.0;

/// What the weighing may look at.
pub(super) struct Context<'a> {
    pub look: &'a Search<'a>,
    pub theirs: Option<&'a Search<'a>>,
    pub jumps: &'a [Jump],
    pub local: Local,
    pub reference: Option<Local>,
    pub longitude_deg: f64,
}

fn after(instant: Instant, hours: f64) -> Instant {
    Instant(instant.0 + (hours * HOUR_NS as f64) as i64)
}

/// Whether what a jump did to the level is still there a day later: the sensor was moved, or
/// something was put down beside it for good.
pub(super) fn moved(context: &Context<'_>, jump: &Jump) -> bool {
    // Whole days on both sides, so that the daily variation cancels.
    let mean = |from: f64, to: f64| context.look.mean(after(jump.time, from), after(jump.time, to));
    let (Some(before), Some(later)) = (mean(-25.0, -1.0), mean(1.0, 25.0)) else { return false };
    let lasting = sub(later, before);
    jump.rise_most_s <= 2.0 * SHARP_S
        && norm(sub(lasting, jump.size_nt)) < 0.35 * norm(jump.size_nt)
}

/// The opposite jump within fourteen hours that undoes one, or that it undoes.
fn partner<'a>(context: &'a Context<'_>, jump: &Jump) -> Option<&'a Jump> {
    context.jumps.iter().find(|other| {
        let apart = (other.time.0 - jump.time.0).abs();
        let sum = norm([0, 1, 2].map(|c| other.size_nt[c] + jump.size_nt[c]));
        apart > 0 && apart < 14 * HOUR_NS && sum < 0.4 * norm(jump.size_nt)
    })
}

/// Whether a fall that was not sharp is over three hours later.
fn faded(context: &Context<'_>, jump: &Jump) -> bool {
    let mean = |from: f64, to: f64| context.look.mean(after(jump.time, from), after(jump.time, to));
    let (Some(before), Some(later)) = (mean(-0.5, 0.0), mean(3.0, 4.0)) else { return false };
    !sharp(jump) && jump.size_nt[0] < 0.0 && norm(sub(later, before)) < 0.5 * norm(jump.size_nt)
}

fn sharp(jump: &Jump) -> bool {
    jump.rise_most_s <= SHARP_S
}

/// Monday to Friday from 7 to 18 local mean time.
fn working_hours(instant: Instant, longitude_deg: f64) -> bool {
    let local = instant.0 as f64 / HOUR_NS as f64 + longitude_deg / 15.0;
    // 1 January 1970 was a Thursday.
    let weekday = ((local / 24.0).floor() as i64 + 3).rem_euclid(7);
    weekday < 5 && (7.0..18.0).contains(&local.rem_euclid(24.0))
}

/// What a jump looks like by itself.
fn of_edge(jump: &Jump) -> Vec<Reason> {
    let mut out = Vec::new();
    if sharp(jump) {
        out.push(Reason::new(
            -1,
            say!(
                "it took {} or less, and a commencement takes two to six minutes",
                print::duration(jump.rise_most_s.max(1.0))
            ),
        ));
    }
    let [h, across, z] = jump.size_nt.map(f64::abs);
    if z > 0.5 * libm::hypot(h, across) {
        out.push(Reason::new(
            -1,
            say!(
                "it has {} downwards to {} level, as a source nearby makes it; a distant current \
                 acts mostly along the level",
                nt(jump.size_nt[2]),
                nt(libm::hypot(h, across))
            ),
        ));
    } else if across > h {
        out.push(Reason::new(-1, word("it points across the magnetic meridian, not along it")));
    }
    out
}

/// What the reference says of a jump.
fn of_reference(context: &Context<'_>, jump: &Jump) -> Option<Reason> {
    let theirs = context.theirs?.change_at(jump.time)?;
    let (ours, theirs) = (jump.size_nt, theirs);
    let share = dot(theirs, ours) / dot(ours, ours);
    Some(if share > 0.4 {
        Reason::new(3, say!("the reference jumps with it, by {}", nt(norm(theirs))))
    } else if share < 0.2 {
        Reason::new(-3, word("the reference does not jump at that time"))
    } else {
        Reason::new(0, word("the reference changes a little at that time, not clearly with it"))
    })
}

/// A jump without a storm.
pub(super) fn lone_jump(context: &Context<'_>, jump: &Jump) -> (Verdict, Vec<Reason>) {
    let mut reasons = of_edge(jump);
    reasons.extend(of_reference(context, jump));
    let pair = partner(context, jump);
    if let Some(other) = pair {
        let hours = (other.time.0 - jump.time.0).abs() as f64 / HOUR_NS as f64;
        reasons.push(Reason::new(
            -2,
            say!(
                "the opposite jump {} {} undoes it, as when something is parked and driven away",
                print::duration(hours * 3600.0),
                word(if other.time > jump.time { "later" } else { "earlier" })
            ),
        ));
    }
    if pair.is_none() && faded(context, jump) {
        reasons.push(Reason::new(
            2,
            word("it came back within some hours, not at one stroke, as a bay does"),
        ));
    }
    if moved(context, jump) {
        reasons.push(Reason::new(
            -3,
            word(
                "the level is still off by as much a day later: the sensor was moved, or something \
             was put beside it for good",
            ),
        ));
    }
    let seen_elsewhere = reasons.iter().any(|r| r.weight == 3);
    if !seen_elsewhere && (pair.is_some() || reasons.iter().any(|r| r.weight == -3)) {
        let both = pair.is_none_or(|p| working_hours(p.time, context.longitude_deg));
        if both && working_hours(jump.time, context.longitude_deg) {
            reasons.push(Reason::new(-1, word("it fell into working hours")));
        }
    }
    if !jump.stays {
        reasons.push(Reason::new(0, word("half of it was gone within twenty minutes")));
    }
    let sum: i32 = reasons.iter().map(|r| r.weight).sum();
    let verdict = match sum {
        s if s <= -2 => Verdict::Local,
        s if s >= 2 && jump.size_nt[0] < 0.0 => Verdict::Bay,
        _ => Verdict::Undecided,
    };
    (verdict, reasons)
}

/// A stretch of low field.
pub(super) fn candidate(context: &Context<'_>, storm: &Storm) -> (Verdict, Vec<Reason>) {
    let (slow, mut reasons) = recovery(context, storm);
    reasons.extend(commencement(context, storm));
    reasons.extend(at_one_stroke(context, storm));
    reasons.extend(same_elsewhere(context, storm));
    let weigh = |sign: i32| reasons.iter().map(|r| r.weight).filter(|w| w * sign > 0).sum::<i32>();
    let (natural, local) = (weigh(1), -weigh(-1));
    let verdict = if local >= 3 && natural < 3 {
        Verdict::Local
    } else if local >= 3 {
        Verdict::Undecided
    } else {
        match slow {
            Some(true) => Verdict::Storm,
            Some(false) => Verdict::Bay,
            None => Verdict::Undecided,
        }
    };
    (verdict, reasons)
}

/// Whether it recovers slowly, as a ring current does; `None` when the record does not say.
fn recovery(context: &Context<'_>, storm: &Storm) -> (Option<bool>, Vec<Reason>) {
    let deepest = ((storm.deepest.0 - context.local.first.0) / HOUR_NS) as usize;
    let later = context.local.hours.get(deepest + 1..).unwrap_or(&[]);
    let known: Vec<f64> = later.iter().take(12).copied().filter(|v| v.is_finite()).collect();
    let Some(middle) = signal::robust::median(&known).filter(|_| known.len() >= 8) else {
        let text = word("too little of the twelve hours after it is there to see how it recovers");
        return (None, vec![Reason::new(0, text)]);
    };
    if middle <= 0.25 * storm.depth_nt {
        let text = say!(
            "over the next twelve hours it stood at {} in the middle, as a ring current recovers",
            nt(middle)
        );
        (Some(true), vec![Reason::new(1, text)])
    } else {
        let text = say!(
            "it was below half of its depth for {} and soon back, as the bay of a substorm is",
            print::counted(storm.hours_below_half, "hour", "hours")
        );
        (Some(false), vec![Reason::new(0, text)])
    }
}

fn commencement(context: &Context<'_>, storm: &Storm) -> Vec<Reason> {
    let Some(jump) = &storm.jump else {
        return vec![Reason::new(0, word("no sudden rise stands out in the twelve hours before"))];
    };
    let theirs = of_reference(context, jump);
    if theirs.as_ref().is_some_and(|r| r.weight < 0) {
        return vec![Reason::new(0, word("the rise before it is not in the reference"))];
    }
    let seen = match theirs {
        Some(r) if r.weight > 0 => word(", in the reference as well"),
        _ if sharp(jump) => word(", sharper than a commencement usually is"),
        _ => "",
    };
    let text = say!(
        "a rise of {} before it, {} times the usual change of ten minutes{seen}",
        nt(jump.size_nt[0]),
        print::fixed(jump.size_nt[0] / jump.usual_nt[0], 1)
    );
    vec![Reason::new(1, text)]
}

/// A fall by most of the depth within a minute, or a parked thing's two edges about it.
fn at_one_stroke(context: &Context<'_>, storm: &Storm) -> Vec<Reason> {
    let from = storm.main_phase.0 - 2 * HOUR_NS;
    let falls = context.jumps.iter().filter(|j| {
        (from..=storm.deepest.0).contains(&j.time.0) && j.size_nt[0] < 0.5 * storm.depth_nt
    });
    let Some(fall) = falls.min_by(|a, b| a.size_nt[0].total_cmp(&b.size_nt[0])) else {
        return Vec::new();
    };
    let mut out = Vec::new();
    if sharp(fall) {
        out.push(Reason::new(
            -2,
            say!(
                "it came at one stroke, {} within {}",
                nt(fall.size_nt[0]),
                print::duration(fall.rise_most_s.max(1.0))
            ),
        ));
    }
    if partner(context, fall).is_some() {
        out.push(Reason::new(-2, word("the opposite jump ends it")));
    }
    let down = fall.size_nt[2].abs() > 0.7 * fall.size_nt[0].abs();
    if !out.is_empty() && down {
        out.push(Reason::new(-1, word("it acts downwards nearly as much as along the level")));
    }
    out
}

/// Whether the reference is low in the same hours.
fn same_elsewhere(context: &Context<'_>, storm: &Storm) -> Option<Reason> {
    let (here, there) = (&context.local, context.reference.as_ref()?);
    let shift = (there.first.0 - here.first.0) / HOUR_NS;
    let place = |instant: Instant| (instant.0 - here.first.0) / HOUR_NS;
    let pairs: Vec<(f64, f64)> = (place(storm.main_phase) - 2..=place(storm.deepest) + 12)
        .filter_map(|h| {
            let ours = *here.hours.get(usize::try_from(h).ok()?)?;
            let theirs = *there.hours.get(usize::try_from(h - shift).ok()?)?;
            (ours + theirs).is_finite().then_some((ours, theirs))
        })
        .collect();
    if pairs.len() < 8 {
        return Some(Reason::new(0, word("the reference has too little of these hours")));
    }
    let (ours, theirs): (Vec<f64>, Vec<f64>) = pairs.into_iter().unzip();
    let found = crate::compare::agreement(&theirs, &ours, |_| true);
    let lowest = theirs.iter().copied().fold(f64::INFINITY, f64::min);
    let text = say!(
        "the reference falls to {} in the same hours (correlation {})",
        nt(lowest),
        print::fixed(found.correlation, 2)
    );
    Some(if found.correlation > 0.7 && (0.4..2.5).contains(&(lowest / storm.depth_nt)) {
        Reason::new(3, text)
    } else if lowest > 0.3 * storm.depth_nt {
        Reason::new(-3, say!("the reference falls to no more than {}", nt(lowest)))
    } else {
        Reason::new(0, say!("{text}, which is not clearly the same"))
    })
}
