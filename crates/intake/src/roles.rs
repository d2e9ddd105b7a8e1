//! Roles: which columns are the field, and which are anything else.
//!
//! Names speak first, then units, then behaviour: three columns whose vector
//! keeps its length, or lies on a sphere, are a field.  An accelerometer's
//! vector does so too, so its columns are told apart first.

use crate::names::{Named, Quantity};
use crate::sphere::{self, Ball};
use record::{
    Role, Unit, say,
    words::{word, worded},
};

/// A column with its role and why.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Roled {
    /// The role.
    pub role: Role,
    /// Why.
    pub evidence: String,
}

/// A number column, raw.
pub(crate) struct Column<'a> {
    /// Its header.
    pub named: &'a Named,
    /// Its place in the file.
    pub place: usize,
    /// Its values as written.
    pub values: &'a [f64],
}

/// Roles of all columns, and whether the field was found by behaviour alone
/// and with doubt.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Found {
    /// One for each column.
    pub roles: Vec<Roled>,
    /// The field's columns, when there are three.
    pub field: Option<[usize; 3]>,
    /// Further triples that could be the field.
    pub rivals: Vec<[usize; 3]>,
    /// Whether the field's columns behave unlike a field.
    pub doubtful: bool,
}

const FIELD: [Role; 3] = [Role::X, Role::Y, Role::Z];
const ACCEL: [Role; 3] = [Role::AccelX, Role::AccelY, Role::AccelZ];
const GYRO: [Role; 3] = [Role::GyroX, Role::GyroY, Role::GyroZ];

/// Gives every column its role.  `file` is the file's name, which may tell
/// what bare x, y and z are; `elements` are the letters of an observatory file.
pub(crate) fn assign(columns: &[Column], file: &str) -> Found {
    let mut roles: Vec<Roled> = columns.iter().map(|c| by_name(c.named)).collect();
    let accel = triples(columns, |q| match q {
        Quantity::Acceleration(axis) => Some(axis),
        _ => None,
    });
    let gyro = triples(columns, |q| match q {
        Quantity::Rotation(axis) => Some(axis),
        _ => None,
    });
    give(&mut roles, accel.first(), ACCEL, word("named as an acceleration"));
    give(&mut roles, gyro.first(), GYRO, word("named as a rotation rate"));
    let mut fields = triples(columns, |q| match q {
        Quantity::Field(axis) => Some(axis),
        _ => None,
    });
    let mut evidence = worded("named as a magnetic component");
    let mut doubtful = false;
    if fields.is_empty() {
        let bare = triples(columns, |q| match q {
            Quantity::Axis(axis) => Some(axis),
            _ => None,
        });
        if let Some(triple) = bare.first() {
            match bare_vector(columns, *triple, file, !accel.is_empty()) {
                Bare::None => {}
                Bare::Field(why) => (fields, evidence) = (bare, why),
                Bare::Accel(why) => give(&mut roles, Some(triple), ACCEL, &why),
                Bare::Gyro(why) => give(&mut roles, Some(triple), GYRO, &why),
            }
        }
    }
    let nameless = columns.iter().all(|c| c.named.quantity == Quantity::Nameless);
    if fields.is_empty()
        && nameless
        && let Some(seen) = by_behaviour(columns)
    {
        (fields, evidence, doubtful) = (vec![seen.field], seen.evidence, seen.doubtful);
        let why = word("its vector keeps the length of gravity about zero");
        give(&mut roles, seen.accel.as_ref(), ACCEL, why);
    }
    give(&mut roles, fields.first(), FIELD, &evidence);
    for place in fields.iter().skip(1).flatten() {
        roles[*place].evidence =
            say!("{evidence}, but another sensor's columns are taken for the field");
    }
    let field = fields.first().copied();
    let rivals = fields.into_iter().skip(1).collect();
    Found { roles, field, rivals, doubtful }
}

fn give(roles: &mut [Roled], triple: Option<&[usize; 3]>, wanted: [Role; 3], evidence: &str) {
    for (place, role) in triple.into_iter().flatten().zip(wanted) {
        roles[*place] = Roled { role, evidence: evidence.to_owned() };
    }
}

fn by_name(named: &Named) -> Roled {
    let role = match named.quantity {
        Quantity::Total => Role::F,
        Quantity::Element('H') => Role::H,
        Quantity::Element('D') => Role::D,
        Quantity::Element('I') => Role::I,
        Quantity::Temperature => Role::Temperature,
        Quantity::Pressure => Role::Pressure,
        Quantity::Humidity => Role::Humidity,
        Quantity::Counts => Role::Counts,
        Quantity::Motion => Role::Motion,
        // Times are taken out before; a capital T that is left is no time.
        Quantity::Time if named.header == "T" => Role::Temperature,
        _ => Role::Other,
    };
    let evidence = match (role, named.header.is_empty()) {
        (Role::Other, true) => worded("no name, and no behaviour that tells"),
        (Role::Other, false) => worded("its name is none of those known"),
        _ => say!("the name “{}”", named.header),
    };
    Roled { role, evidence }
}

// Columns of one stem with all three axes, in file order of their first.
fn triples(columns: &[Column], axis: impl Fn(Quantity) -> Option<usize>) -> Vec<[usize; 3]> {
    let mut found: Vec<(&str, [Option<usize>; 3])> = Vec::new();
    for (place, column) in columns.iter().enumerate() {
        let Some(axis) = axis(column.named.quantity) else { continue };
        let stem = column.named.stem.as_str();
        // A repeated axis of the same stem begins another sensor.
        let open = found.iter().rposition(|(s, axes)| *s == stem && axes[axis].is_none());
        match open {
            Some(k) => found[k].1[axis] = Some(place),
            None => {
                let mut axes = [None; 3];
                axes[axis] = Some(place);
                found.push((stem, axes));
            }
        }
    }
    found.into_iter().filter_map(|(_, [x, y, z])| Some([x?, y?, z?])).collect()
}

enum Bare {
    None,
    Field(String),
    Accel(String),
    Gyro(String),
}

// Bare x, y, z: the file's name, then the length of the vector, tell.
fn bare_vector(columns: &[Column], triple: [usize; 3], file: &str, accel_known: bool) -> Bare {
    let words = crate::names::words(file);
    let said = |starts: &[&str]| words.iter().any(|w| starts.iter().any(|s| w.starts_with(s)));
    if said(&["accel", "gravity"]) {
        return Bare::Accel(say!("the file is called {file}"));
    }
    if said(&["gyro"]) {
        return Bare::Gyro(say!("the file is called {file}"));
    }
    let values = triple.map(|k| columns[k].values);
    let ball = sphere::about_zero(values);
    let standard = record::Unit::Gravity.inside().1;
    let near = |wanted: f64| (ball.radius / wanted - 1.0).abs() < 0.05 && ball.relative < 0.1;
    if !accel_known && !said(&["mag", "compass", "field"]) && near(standard) {
        return Bare::Accel(worded("its vector keeps the length of gravity, 9.81"));
    }
    if matches!(columns[triple[0]].named.stem.as_str(), "" | "raw") {
        return Bare::Field(worded("the columns are named x, y and z"));
    }
    // Any vector may be called `garden x`: its length has to be the Earth's field.
    let sized = unit_by_size(values);
    match sized.unit {
        Unit::Count => Bare::None,
        _ => Bare::Field(say!("three axes of one name; {}", sized.evidence)),
    }
}

struct Behaving {
    field: [usize; 3],
    accel: Option<[usize; 3]>,
    evidence: String,
    doubtful: bool,
}

// Nameless columns: every three neighbours are tried.
fn by_behaviour(columns: &[Column]) -> Option<Behaving> {
    let neighbours = |t: &[usize; 3]| {
        columns[t[1]].place == columns[t[0]].place + 1
            && columns[t[2]].place == columns[t[1]].place + 1
    };
    let windows: Vec<[usize; 3]> =
        (2..columns.len()).map(|k| [k - 2, k - 1, k]).filter(neighbours).collect();
    let values = |t: &[usize; 3]| t.map(|k| columns[k].values);
    let fits: Vec<([usize; 3], Ball)> =
        windows.iter().map(|t| (*t, sphere::about_zero(values(t)))).collect();
    // A steady vector whose length is the Earth's field in some unit.
    let long = columns.iter().all(|c| c.values.len() >= 10);
    let steady = fits.iter().find(|(_, ball)| {
        long && ball.relative < 0.05
            && [1.0, 1e3, 1e2, 1e5].iter().any(|scale| sphere::earthly(ball.radius * scale))
    });
    if let Some((field, ball)) = steady {
        let evidence = say!(
            "its vector keeps a length of {}, as the Earth's field does",
            record::print::trimmed(ball.radius, 4)
        );
        return Some(Behaving { field: *field, accel: None, evidence, doubtful: false });
    }
    if columns.len() >= 6 {
        return nine_axes(&windows, columns);
    }
    (columns.len() == 3).then(|| {
        let ball = sphere::fit(values(&[0, 1, 2]));
        let good = ball.is_some_and(|b| b.relative < 0.1 && b.turned());
        let evidence = if good {
            word("its vector lies on a sphere, as a turned field sensor's does")
        } else {
            word("the log has three columns and no more")
        };
        Behaving { field: [0, 1, 2], accel: None, evidence: evidence.to_owned(), doubtful: !good }
    })
}

// Accelerometer, gyroscope, magnetometer in threes: gravity lies about zero,
// the field about an offset; both on a sphere.
fn nine_axes(windows: &[[usize; 3]], columns: &[Column]) -> Option<Behaving> {
    let values = |t: &[usize; 3]| t.map(|k| columns[k].values);
    let first = columns.first().map_or(0, |c| c.place);
    let aligned = windows.iter().filter(|t| (columns[t[0]].place - first).is_multiple_of(3));
    let balls: Vec<([usize; 3], Ball)> = aligned
        .filter_map(|t| Some((*t, sphere::fit(values(t))?)))
        .filter(|(_, b)| b.relative < 0.1)
        .collect();
    let accel = balls.iter().find(|(_, b)| b.offset < 0.15 * b.radius).map(|(t, _)| *t);
    let best = balls
        .iter()
        .filter(|(t, b)| Some(*t) != accel && b.relative < 0.05 && b.turned())
        .min_by(|a, b| a.1.relative.total_cmp(&b.1.relative))?;
    let evidence = say!(
        "its vector lies on a sphere within {} of the radius, as a turned field sensor's does",
        record::print::percent((best.1.relative * 1e4) as usize, 10_000)
    );
    Some(Behaving { field: best.0, accel, evidence, doubtful: false })
}

/// What a field's own size says about its unit.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Sized {
    /// The unit that fits best; counts when none does.
    pub unit: Unit,
    /// Why.
    pub evidence: String,
    /// Whether the student should be asked.
    pub open: bool,
}

/// The unit of a field that states none: the one in which the vector is as
/// long as the Earth's field, 22 to 67 µT at its surface (range of IGRF-14's
/// total field; from memory).
pub(crate) fn unit_by_size(values: [&[f64]; 3]) -> Sized {
    let whole = values.iter().all(|axis| axis.iter().all(|v| v.is_nan() || v.fract() == 0.0));
    let ball = sphere::about_zero(values);
    let fitted = sphere::fit(values).filter(|b| b.relative < 0.1 && b.turned());
    let tried = [
        (Unit::Nanotesla, 1.0),
        (Unit::Microtesla, 1e3),
        (Unit::Milligauss, 1e2),
        (Unit::Gauss, 1e5),
    ];
    let length = fitted.map_or(ball.radius, |b| b.radius);
    let shown = record::print::trimmed(length, 4);
    for (unit, scale) in tried {
        if sphere::earthly(length * scale) {
            if whole && unit == Unit::Milligauss {
                let evidence = say!(
                    "whole numbers with a vector length of {shown}: raw counts, or milligauss"
                );
                return Sized { unit: Unit::Count, evidence, open: true };
            }
            let evidence =
                say!("the vector is {shown} long, which in {} is the Earth's field", unit.symbol());
            return Sized { unit, evidence, open: whole };
        }
    }
    let evidence =
        say!("the vector is {shown} long, which is the Earth's field in no unit of field");
    Sized { unit: Unit::Count, evidence, open: true }
}
