//! The order of day and month, decided over the whole file.
//!
//! Evidence, in order of weight: a number that can only be a day; dates that
//! then run on in order; dates that then lie close together.  Where all of
//! that leaves two readings, day first is taken and the student is asked.

use crate::ReadError;
use crate::calendar::{full_year, midnight};
use crate::decide::Asked;
use crate::moment::SETTLED;
use record::{
    Instant, say,
    words::{word, worded},
};

/// Which number of an open date is what.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Order {
    /// Day, month, year.
    #[default]
    Day,
    /// Month, day, year.
    Month,
    /// Year, month, day.
    Year,
}

impl Order {
    const ALL: [Self; 3] = [Self::Day, Self::Month, Self::Year];

    fn id(self) -> &'static str {
        match self {
            Self::Day => "day-first",
            Self::Month => "month-first",
            Self::Year => "year-first",
        }
    }

    /// Midnight of a date in this order, nanoseconds; `None` when there is no
    /// such day.
    pub(crate) fn midnight(self, [a, b, c]: [u16; 3]) -> Option<i64> {
        let (year, month, day) = match self {
            Self::Day => (c, b, a),
            Self::Month => (c, a, b),
            Self::Year => (a, b, c),
        };
        midnight(full_year(u32::from(year)), u32::from(month), u32::from(day))
            .filter(|ns| crate::moment::in_range(*ns))
    }
}

#[derive(Clone, Debug)]
struct Fit {
    order: Order,
    unreal: usize,
    turns: usize,
    span_ns: i64,
}

/// Settles the order and adds the dates to the times of day.  Returns the
/// order and the rows whose date does not exist in it.
pub(crate) fn settle(
    ns: &mut [i64],
    open: &[(usize, [u16; 3])],
    asked: &mut Asked,
) -> Result<(Order, Vec<usize>), ReadError> {
    let all = open;
    let open: Vec<(usize, [u16; 3])> =
        all.iter().copied().filter(|(_, parts)| *parts != SETTLED).collect();
    let open = open.as_slice();
    let mut fits: Vec<Fit> = Order::ALL.iter().map(|order| fit(*order, ns, open)).collect();
    let real = |f: &Fit| f.unreal < open.len();
    fits.retain(|f| real(f));
    record::sort::by(&mut fits, |a, b| (a.unreal, a.turns).cmp(&(b.unreal, b.turns)));
    let example = open.first().map_or([1, 1, 2000], |(_, parts)| *parts);
    let known: Vec<(String, String)> =
        fits.iter().map(|f| (f.order.id().to_owned(), reading(f.order, open))).collect();
    let given = asked.answer("time-order", &known)?;
    let (best, evidence, open_still) = weigh(&fits, open);
    let order = match &given {
        Some(id) => Order::ALL.into_iter().find(|o| o.id() == id.as_str()).unwrap_or(best),
        None => best,
    };
    let mut at = 0;
    let mut day = Some(0);
    let mut unreal = Vec::new();
    for (row, time) in ns.iter_mut().enumerate() {
        while let Some((first, parts)) = all.get(at)
            && *first <= row
        {
            day = if *parts == SETTLED { Some(0) } else { order.midnight(*parts) };
            at += 1;
        }
        match day {
            Some(day) => *time = time.saturating_add(day),
            None => unreal.push(row),
        }
    }
    let words = match order {
        Order::Day => word("day, month, year"),
        Order::Month => word("month, day, year"),
        Order::Year => word("year, month, day"),
    };
    asked.note(crate::Decision {
        id: "time-order".to_owned(),
        sentence: say!("Dates such as {} are read as {words}.", written(example)),
        evidence: if given.is_some() { worded("your choice") } else { evidence },
        chosen: order.id().to_owned(),
        alternatives: known,
        ambiguous: open_still && given.is_none(),
    });
    Ok((order, unreal))
}

fn fit(order: Order, ns: &[i64], open: &[(usize, [u16; 3])]) -> Fit {
    let days: Vec<Option<i64>> = open.iter().map(|(_, parts)| order.midnight(*parts)).collect();
    let unreal = days.iter().filter(|d| d.is_none()).count();
    let times: Vec<i64> = open
        .iter()
        .zip(&days)
        .filter_map(|((row, _), day)| {
            day.map(|day| day.saturating_add(ns.get(*row).copied().unwrap_or(0)))
        })
        .collect();
    let back = times.windows(2).filter(|w| w[1] < w[0]).count();
    let on = times.windows(2).filter(|w| w[1] > w[0]).count();
    let span_ns = match (times.iter().min(), times.iter().max()) {
        (Some(low), Some(high)) => high - low,
        _ => 0,
    };
    Fit { order, unreal, turns: back.min(on), span_ns }
}

// The order taken, why, and whether another does as well.
fn weigh(fits: &[Fit], open: &[(usize, [u16; 3])]) -> (Order, String, bool) {
    let Some(best) = fits.first() else {
        return (Order::Day, worded("no order makes dates of these numbers"), true);
    };
    let Some(next) = fits.get(1) else {
        return (best.order, proof(best.order, open), false);
    };
    if next.unreal > best.unreal {
        return (best.order, proof(best.order, open), false);
    }
    if next.turns > best.turns {
        let evidence = say!(
            "read so, dates run on in order; read otherwise, they turn back {} times",
            next.turns
        );
        return (best.order, evidence, false);
    }
    let tied: Vec<&Fit> =
        fits.iter().filter(|f| (f.unreal, f.turns) == (best.unreal, best.turns)).collect();
    let closest = tied.iter().min_by_key(|f| f.span_ns).unwrap_or(&best);
    let others = tied.iter().filter(|f| f.order != closest.order);
    if open.len() > 1 && others.clone().all(|f| f.span_ns / 2 > closest.span_ns) {
        let evidence =
            worded("read so, successive dates lie close together; read otherwise, months apart");
        return (closest.order, evidence, false);
    }
    let first = Order::ALL.into_iter().find(|o| tied.iter().any(|f| f.order == *o));
    let evidence = say!("nothing in the file tells the {} readings apart", tied.len());
    (first.unwrap_or(best.order), evidence, true)
}

// A date that reads in this order alone.
fn proof(order: Order, open: &[(usize, [u16; 3])]) -> String {
    let only = open.iter().find(|(_, parts)| {
        Order::ALL.into_iter().filter(|o| o.midnight(*parts).is_some()).count() == 1
            && order.midnight(*parts).is_some()
    });
    match only {
        Some((row, parts)) => {
            say!("{} in row {} reads in no other order", written(*parts), row + 1)
        }
        None => worded("no other order makes dates of all rows"),
    }
}

fn written([a, b, c]: [u16; 3]) -> String {
    format!("{a:02}/{b:02}/{c:02}")
}

fn reading(order: Order, open: &[(usize, [u16; 3])]) -> String {
    let ends = if open.len() > 1 { [open.first(), open.last()] } else { [open.first(), None] };
    let shown: Vec<String> = ends
        .into_iter()
        .flatten()
        .filter_map(|(row, parts)| {
            let day = Instant(order.midnight(*parts)?).readable();
            Some(say!("row {}: {}", row + 1, day.trim_end_matches(" 00:00")))
        })
        .collect();
    shown.join("; ")
}
