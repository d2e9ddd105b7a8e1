//! K index, ak, ap, storm classes and quiet days against published figures; each row of the
//! tables names its source.

use crate::common::{Table, after, holds, numbers};
use field::days::Days;
use field::k_index::{self, Options};
use field::storms;
use record::{Instant, NANOS_PER_SECOND};

/// `3-`, `3o`, `3+` in thirds: 8, 9, 10.
fn thirds(kp: &str) -> u8 {
    let (whole, sign) = kp.split_at(1);
    let whole = 3 * whole.parse::<u8>().unwrap();
    match sign {
        "-" => whole - 1,
        "+" => whole + 1,
        _ => whole,
    }
}

fn k_row(text: &str) -> [Option<u8>; 8] {
    let k: Vec<Option<u8>> = numbers(text).iter().map(|v| Some(*v as u8)).collect();
    k.try_into().unwrap()
}

/// Published tables that are not proportional.
const ESKDALEMUIR: [f64; 10] = [0.0, 8.0, 15.0, 30.0, 60.0, 105.0, 180.0, 300.0, 500.0, 750.0];
const KAKIOKA: [f64; 10] = [0.0, 3.0, 6.0, 12.0, 24.0, 40.0, 70.0, 120.0, 200.0, 300.0];

fn number(id: &str, inputs: &str) -> Option<f64> {
    let class = || id.rsplit('-').next().unwrap().parse::<usize>().unwrap();
    let k = |limits: &[f64; 10]| f64::from(k_index::k_of(numbers(inputs)[0], limits).unwrap());
    Some(match id.split('-').next().unwrap() {
        "k500" | "k600" | "k540" | "kp300" | "kp750" | "kp2000" => {
            k_index::limits(after(inputs, "K9"))[class()]
        }
        "kval" | "kr750" | "kr300" | "kr2000" => k(&k_index::limits(after(inputs, "K9"))),
        "kesk" => ESKDALEMUIR[class()],
        "kkak" => KAKIOKA[class()],
        "ap" if id == "ap-day" => {
            let kp: Vec<&str> = inputs.split(' ').skip(1).collect();
            kp.iter().map(|kp| k_index::AP[usize::from(thirds(kp))]).sum::<f64>() / 8.0
        }
        "ap" => k_index::AP[after(inputs, "thirds") as usize],
        "ak" => k_index::AK[class()],
        "amid" => k_index::MID_CLASS_NT[class()],
        "Aday" => k_index::daily_a(&k_row(inputs)),
        "aknt" => k_index::amplitude_nt(after(inputs, "K") as u8, after(inputs, "K9")),
        "int" => {
            let clock: Vec<f64> = inputs
                .trim_end_matches(" UTC")
                .split(':')
                .map(|part| part.parse().unwrap())
                .collect();
            let seconds = clock[0] * 3600.0 + clock[1] * 60.0 + clock[2];
            let midnight = Instant::from_date(2026, 5, 3).unwrap();
            f64::from(k_index::interval_of(Instant(midnight.0 + (seconds * 1e9) as i64)))
        }
        _ => return None,
    })
}

#[test]
fn every_figure_of_the_table_comes_out() {
    let table = Table::read(include_str!("k-checks.csv"));
    assert_eq!(table.rows.len(), 99);
    for row in &table.rows {
        let text = |name| table.text(row, name);
        let (id, inputs, expected) = (text("id"), text("inputs"), text("expected"));
        if let Some(got) = number(id, inputs) {
            assert!(holds(got, expected.parse().unwrap(), text("tolerance")), "{got} {row:?}");
        } else if id.starts_with("storm") {
            let got = storms::class(numbers(inputs)[0]).unwrap();
            assert_eq!(got.id(), expected, "{row:?}");
        } else {
            let got = k_index::storm_scale(thirds(inputs.trim_start_matches("Kp="))).unwrap();
            assert_eq!(got, expected, "{row:?}");
        }
    }
}

#[test]
fn quiet_and_disturbed_days_are_those_of_the_published_lists() {
    let table = Table::read(include_str!("kp-days.csv"));
    for month in ["1973-05", "2013-06"] {
        let rows: Vec<&Vec<String>> =
            table.rows.iter().filter(|r| r[0].starts_with(month)).collect();
        let days: Vec<[f64; 8]> = rows
            .iter()
            .map(|r| std::array::from_fn(|k| f64::from(thirds(&r[k + 1])) / 3.0))
            .collect();
        let ranks = k_index::rank_days(&days);
        assert_eq!(ranks.len(), days.len());
        for (place, rank) in ranks.iter().take(10).enumerate() {
            let published = table.number(rows[rank.day], "quiet_rank") as usize;
            assert_eq!(published, place + 1, "{:?}", rows[rank.day]);
        }
        for (place, rank) in ranks.iter().rev().take(5).enumerate() {
            let published = table.number(rows[rank.day], "disturbed_rank") as usize;
            assert_eq!(published, place + 1, "{:?}", rows[rank.day]);
        }
        for row in rows {
            let ap = |k: usize| k_index::AP[usize::from(thirds(&row[k + 1]))];
            let mean = (0..8).map(ap).sum::<f64>() / 8.0;
            assert_eq!(mean, table.number(row, "ap_mean"));
        }
    }
}

/// X and Y of an IAGA-2002 day: date, time, day of year, X, Y, ...
fn observatory_day(text: &str) -> (Vec<i64>, Vec<f64>, Vec<f64>) {
    let (mut times, mut x, mut y) = (vec![], vec![], vec![]);
    for line in text.lines().filter(|l| l.starts_with("20")) {
        let cells: Vec<&str> = line.split_whitespace().collect();
        let part = |s: &str, from: usize, to: usize| s[from..to].parse::<u32>().unwrap();
        let (d, t) = (cells[0], cells[1]);
        let midnight =
            Instant::from_date(part(d, 0, 4) as i32, part(d, 5, 7), part(d, 8, 10)).unwrap();
        let minute = i64::from(part(t, 0, 2) * 60 + part(t, 3, 5));
        times.push(midnight.0 + minute * 60 * NANOS_PER_SECOND);
        let value = |s: &str| s.parse::<f64>().ok().filter(|v| *v < 88_888.0).unwrap_or(f64::NAN);
        x.push(value(cells[3]));
        y.push(value(cells[4]));
    }
    (times, x, y)
}

#[test]
fn the_k_of_a_great_storm_is_the_observatorys_own_within_one() {
    let root =
        std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data/iaga");
    let (mut times, mut x, mut y) = (vec![], vec![], vec![]);
    for day in 28..=30 {
        let Ok(text) = std::fs::read_to_string(root.join(format!("esk200310{day}dmin.min"))) else {
            println!("the storm days of October 2003 are not here; nothing compared");
            return;
        };
        let (t, bx, by) = observatory_day(&text);
        times.extend(t);
        x.extend(bx);
        y.extend(by);
    }
    let days = Days::new(&times, &[&x, &y], |_| true, 60.0, 60.0, 0.9).unwrap();
    let options = Options { limits_nt: ESKDALEMUIR, ..Options::new(750.0, -3.2) };
    let found = k_index::indices(&days, &options);
    let published = std::fs::read_to_string(root.join("esk_K_20031028-29.txt")).unwrap();
    let want: Vec<u8> = published
        .lines()
        .filter(|l| !l.starts_with('#'))
        .flat_map(|l| numbers(l).into_iter().skip(4).map(|v| v as u8).collect::<Vec<_>>())
        .collect();
    assert_eq!(want.len(), 16);
    let got: Vec<u8> = found.iter().take(16).map(|i| i.k.unwrap()).collect();
    let exact = got.iter().zip(&want).filter(|(a, b)| a == b).count();
    println!("observatory {want:?}\nhere        {got:?}\n{exact} of {} equal", want.len());
    assert!(got.iter().zip(&want).all(|(a, b)| a.abs_diff(*b) <= 1));
    // The bar: 85 of 100 equal, none more than 1 apart.
    assert!(100 * exact >= 85 * want.len(), "{exact} of {}", want.len());
}
