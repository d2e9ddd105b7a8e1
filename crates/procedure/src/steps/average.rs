//! `average`: block means on an even grid.

use crate::outcome::{Outcome, State};
use crate::param::Param;
use crate::plates;
use crate::step::{Context, Stage, Step, Why};
use clean::average::{Middle, Options, Stamp, average};
use record::{Fault, NANOS_PER_SECOND, Unit, print, say, words::word};

/// Averages into blocks of equal length.
pub static STEP: Step = Step {
    id: "average",
    stage: Stage::Clean,
    title: "Average",
    params: &[
        Param::choice(
            "statistic",
            "Kind of average",
            &[("mean", "mean"), ("median", "median")],
            "mean",
            "The median shrugs off spikes; the mean has less noise.",
        ),
        Param::number(
            "block_s",
            "Block length",
            Unit::Second,
            (0.01, 86_400.0, 30.0),
            60.0,
            "Longer than the sampling step, shorter than what you want to see.",
        ),
        Param::number(
            "coverage",
            "Share needed",
            Unit::Percent,
            (1.0, 100.0, 5.0),
            80.0,
            "Observatories ask for 90 %.",
        ),
        Param::choice(
            "stamp",
            "Time stamp",
            &[("centre", "centre"), ("start", "start"), ("end", "end")],
            "centre",
            "Observatory minutes are stamped at their centre.",
        ),
    ],
    sentence: |_| {
        "Take the {statistic} of blocks of {block_s}, where at least {coverage} of a block is \
         there, stamped at its {stamp}."
    },
    why: Why {
        what: "The record is cut into blocks that begin on whole multiples of the block length in \
               UTC, and each becomes one sample.",
        why: "Averaging lowers noise and brings the record to the even steps that filters and \
              spectra need.",
        wrong: "Noise falls with the square root of the number of samples only while successive \
                samples are independent, and never below what quantisation leaves.",
        picture: "Many scattered dots in six blocks; each block is given one level line and one \
                  dot.",
    },
    run,
    repeatable: false,
    removable: true,
};

fn run(context: &Context<'_>, state: &State) -> Result<Outcome, Fault> {
    let options = Options {
        cadence_ns: (context.number("block_s") * NANOS_PER_SECOND as f64).round() as i64,
        coverage: context.number("coverage") / 100.0,
        stamp: match context.text("stamp") {
            "start" => Stamp::Start,
            "end" => Stamp::End,
            _ => Stamp::Centre,
        },
        middle: match context.text("statistic") {
            "median" => Middle::Median,
            _ => Middle::Mean,
        },
    };
    let found = average(&state.record, &options)?;
    let mut next = state.clone();
    next.fine = Some(state.record.clone());
    next.record = found.record.clone();
    next.before = next.record.clone();
    let n = next.record.len();
    let mut remark = say!(
        "{} became {} of {}",
        print::counted(state.record.len(), "sample", "samples"),
        print::counted(n, "block", "blocks"),
        print::duration(context.number("block_s"))
    );
    if found.marked > 0 {
        remark.push_str(&say!(
            "; {} held too little ({}) and are left out",
            print::count(found.marked),
            print::percent(found.marked, n)
        ));
    }
    remark.push('.');
    let (largest, unit) = largest_sigma(&next.record, &found.sigma);
    if largest > 0.0 {
        let size = print::with_unit(&print::significant(largest, 2), unit);
        remark.push_str(&say!(
            " A block mean is known to {size} or better, from the scatter within."
        ));
    }
    let after = next.record.clone();
    let outcome = Outcome::new(next, remark)
        .number("marked", found.marked as f64, Unit::None)
        .number("largest", largest, unit)
        .number("blocks", n as f64, Unit::None);
    let caption = say!(
        "Block {}s of {}.",
        word(context.text("statistic")),
        print::duration(context.number("block_s"))
    );
    Ok(plates::with_series(outcome, &after, None, "series", "Averaged", &caption))
}

// The median over the blocks of the worst component's standard uncertainty.
fn largest_sigma(record: &record::Record, sigma: &[Vec<f64>]) -> (f64, Unit) {
    let each =
        record.channels().iter().zip(sigma).filter(|(c, _)| c.unit == record.channels()[0].unit);
    let worst = each
        .filter_map(|(c, s)| signal::robust::median(s).map(|m| (m, c.unit)))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    worst.unwrap_or((0.0, Unit::None))
}
