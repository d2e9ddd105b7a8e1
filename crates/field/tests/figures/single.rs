//! Single figures from elsewhere: each row of the table names its source and its tolerance.

use crate::common::{Table, after, holds, numbers};
use field::calibration::{Calibration, Model, Options, fit};
use field::model::{self, Coefficients, ModelField, Which, dipole, geodetic};
use field::{elements, heading, orientation};
use record::vector::{self, Mat3, Vec3};
use record::{Civil, Instant, Station, Unit};

#[test]
fn every_figure_of_the_table_comes_out() {
    let table = Table::read(include_str!("checks.csv"));
    assert_eq!(table.rows.len(), 155);
    for row in &table.rows {
        let text = |name| table.text(row, name);
        let got = figure(text("id"), text("inputs"));
        let expected = text("expected");
        match got {
            Got::Word(word) => assert_eq!(word, expected, "{row:?}"),
            Got::Numbers(got) => {
                let want = numbers(expected);
                assert_eq!(got.len(), want.len(), "{row:?} {got:?}");
                let heading = text("quantity").contains("heading deg");
                for (k, (got, want)) in got.iter().zip(want).enumerate() {
                    let rule = rule(text("tolerance"), k);
                    // Headings count round the circle.
                    let off = field::circular::difference_deg(*got, want);
                    let got = if heading { want + off } else { *got };
                    assert!(holds(got, want, rule), "{got} {want} {rule} {row:?}");
                }
            }
        }
    }
}

/// The tolerance of one of several numbers in a row.
fn rule(tolerance: &str, place: usize) -> &str {
    match tolerance {
        "D I abs 0.0051, H F abs 1e-5" => ["abs 0.0051", "abs 1e-5"][place / 2],
        "abs 1e-5, B0 abs 1e-3" => ["abs 1e-5", "abs 1e-5", "abs 1e-3"][place],
        // Hours and minutes are compared in seconds.
        "abs 0.5 s" => "abs 0.5",
        other => other,
    }
}

enum Got {
    Word(String),
    Numbers(Vec<f64>),
}

fn figure(id: &str, inputs: &str) -> Got {
    let number = |v: f64| Got::Numbers(vec![v]);
    let kind = id.split('-').next().unwrap();
    match kind {
        "sphere" | "ellipsoid" | "circle" | "scale" | "root" => calibration(kind),
        "dot" => number(dot_invariant()),
        "attenuation" => number(field::match_reference::reliability(15.0, 15.0)),
        "slope" => number(field::match_reference::slope_sigma(10.0, 20.0, 1440.0)),
        "tempco" => number(field::temperature::sensitivity_change_nt(48_000.0, -0.3, 5.0)),
        "elem" | "el" | "xyz" | "head" | "tilt" | "base" | "e" | "hexy" | "arcmin" => {
            element(id, kind, inputs)
        }
        "err" => number(fault(id)),
        "unit" => number(unit(id)),
        "dip" => number(dipole::inclination_deg(numbers(inputs)[0])),
        "lmt" => local_time(id, inputs),
        "doy" => number(day_of_year(inputs)),
        "cen" => Got::Word(centre(id)),
        // Tenths of a thousandth of a radian in H, rounded as the format's integers are; its
        // radian has 3438 minutes of arc.
        "dconv" => {
            number((after(inputs, "H") / (1.0 / elements::ARC_MINUTE).round() * 1e4).round())
        }
        "dy" => number(decimal_year(inputs)),
        "zone" => Got::Word(model::zone(after(inputs, "H")).id().to_owned()),
        "valid" => {
            let valid = Which::Wmm2025.covers(after(inputs, "t"));
            Got::Word(if valid { "yes" } else { "no" }.to_owned())
        }
        _ => Got::Numbers(field_model(id, kind, inputs)),
    }
}

fn field_model(id: &str, kind: &str, inputs: &str) -> Vec<f64> {
    match kind {
        "rep" => report(id, inputs),
        "gc" => {
            let place = geodetic::Geocentric::of(after(inputs, "lat"), after(inputs, "h"));
            vec![place.latitude_deg, place.radius_km]
        }
        "rot" => {
            let place = geodetic::Geocentric::of(after(inputs, "lat"), after(inputs, "h"));
            let v = place.to_geodetic([after(inputs, "X'"), 0.0, after(inputs, "Z'")]);
            vec![v[0], v[2]]
        }
        "ig" => {
            let order = id.rsplit('g').next().unwrap();
            let (n, m) = order.split_once('_').unwrap();
            let c = Which::Igrf14.coefficients(after(inputs, "t")).unwrap();
            vec![c.g(n.parse().unwrap(), m.parse().unwrap())]
        }
        "pole" | "ml" => poles(id, inputs),
        "L" | "Lh" => {
            let all = numbers(inputs.split('=').next().unwrap());
            let height = if kind == "Lh" { after(inputs, "h") } else { 0.0 };
            vec![dipole::l_shell(all[0], height)]
        }
        "sigd" => vec![model::sigmas(Which::Wmm2025, after(inputs, "H")).declination_deg],
        "sig" => {
            let s = model::sigmas(Which::Wmm2025, 20_000.0);
            vec![match id {
                "sig-X" => s.x_nt,
                "sig-Z" => s.z_nt,
                _ => s.f_nt,
            }]
        }
        "gv" => {
            let (d, lon) = (after(inputs, "D"), after(inputs, "lon"));
            vec![model::grid_variation_deg(d, after(inputs, "lat"), lon).unwrap()]
        }
        other => panic!("no figure for {other}"),
    }
}

fn wmm(latitude: f64, longitude: f64, height_m: f64, year: f64) -> ModelField {
    let station = Station::new("", latitude, longitude, height_m).unwrap();
    model::field(Which::Wmm2025, &station, year).unwrap()
}

/// Table 3b of the WMM2025 report, step by step, and the poles of its section 1.4.
fn report(id: &str, inputs: &str) -> Vec<f64> {
    let place = geodetic::Geocentric::of(-80.0, 100.0);
    let c: Coefficients = Which::Wmm2025.coefficients(2027.5).unwrap();
    let m = wmm(-80.0, 240.0, 100_000.0, 2027.5);
    let d = (place.latitude_deg + 80.0).to_radians();
    let (sin, cos) = libm::sincos(d);
    let geocentric = [m.x_nt * cos + m.z_nt * sin, m.y_nt, m.z_nt * cos - m.x_nt * sin];
    let r = m.rates;
    vec![match id {
        "rep-phi" => place.latitude_deg.to_radians(),
        "rep-r" => 1000.0 * place.radius_km,
        "rep-Xp" => geocentric[0],
        "rep-Yp" => geocentric[1],
        "rep-Zp" => geocentric[2],
        "rep-X" => m.x_nt,
        "rep-Y" => m.y_nt,
        "rep-Z" => m.z_nt,
        "rep-F" => m.f_nt,
        "rep-H" => m.h_nt,
        "rep-D" => m.declination_deg.to_radians(),
        "rep-I" => m.inclination_deg.to_radians(),
        "rep-Xdot" => r.x_nt,
        "rep-Ydot" => r.y_nt,
        "rep-Zdot" => r.z_nt,
        "rep-Fdot" => r.f_nt,
        "rep-Hdot" => r.h_nt,
        "rep-Ddot" => r.declination_deg.to_radians(),
        "rep-Idot" => r.inclination_deg.to_radians(),
        "rep-pole-N" | "rep-pole-S" => return pole(inputs),
        coefficient => {
            let (letter, order) = coefficient.trim_start_matches("rep-").split_at(1);
            let digits: Vec<usize> =
                order.chars().map(|c| c.to_digit(10).unwrap() as usize).collect();
            let of = if letter == "g" { Coefficients::g } else { Coefficients::h };
            of(&c, digits[0], digits[1])
        }
    }]
}

/// The field 6371.2 km from the centre, under a geographic pole.
fn pole(inputs: &str) -> Vec<f64> {
    const POLAR_RADIUS_M: f64 = 6_356_752.314_245;
    let latitude = if inputs.contains("N pole") { 90.0 } else { -90.0 };
    let m = wmm(latitude, 0.0, 6_371_200.0 - POLAR_RADIUS_M, 2025.0);
    vec![m.x_nt, m.y_nt, m.z_nt]
}

fn poles(id: &str, inputs: &str) -> Vec<f64> {
    let year = inputs.rsplit([' ', '-']).next().unwrap().parse().unwrap();
    let found = dipole::Dipole::of(&Which::Igrf14.coefficients(year).unwrap());
    let (latitude, longitude) = (found.pole_latitude_deg, found.pole_longitude_deg);
    if id.starts_with("pole-gd") {
        return vec![geodetic::surface_latitude_deg(latitude), longitude];
    }
    if id.starts_with("pole-gc") {
        return vec![latitude, longitude];
    }
    if id.starts_with("pole") {
        return vec![latitude, longitude, found.b0_nt];
    }
    let (lat, lon) = (after(inputs, "lat"), after(inputs, "lon"));
    let place = if id == "ml-ESK-pub" {
        // The bulletin takes the geodetic latitude as it is.
        found.place(lat, lon)
    } else {
        let station = Station::new("", lat, lon, 0.0).unwrap();
        dipole::of_station(Which::Igrf14, &station, year).unwrap()
    };
    vec![place.latitude_deg, place.longitude_deg]
}

fn element(id: &str, kind: &str, inputs: &str) -> Got {
    let of = |name| after(inputs, name);
    let all = |e: elements::Elements| [e.d[0], e.i[0], e.h[0], e.f[0]];
    let xyz = || all(elements::of(&[of("X")], &[of("Y")], &[of("Z")]));
    Got::Numbers(match kind {
        "elem" => {
            let place = "DIHF".find(id.chars().last().unwrap()).unwrap();
            vec![xyz()[place]]
        }
        "el" => xyz().to_vec(),
        "xyz" => elements::components(of("D"), of("I"), of("F")).to_vec(),
        "head" => vec![elements::magnetic_heading_deg(of("Bx"), of("By"))],
        "tilt" => {
            let both: Vec<Vec<f64>> = inputs
                .trim_end_matches(" uT")
                .split("; ")
                .map(|part| numbers(part.split_once('=').unwrap().1))
                .collect();
            let vector = |list: &Vec<f64>| [list[0], list[1], list[2]];
            vec![heading::tilted_deg(vector(&both[0]), vector(&both[1]))]
        }
        "base" if id == "base-H" => {
            vec![elements::variometer_horizontal_nt(of("N0"), of("Nvar"), of("Evar"))]
        }
        "base" => {
            let (d, n, v, e) = (of("D0"), of("N0"), 120.0, of("Evar"));
            vec![elements::variometer_declination_deg(d, n, v, e)]
        }
        "e" => vec![elements::east_nt(of("D"), of("Ha"))],
        "hexy" => elements::north_east_nt(of("H"), of("E"), of("Da")).to_vec(),
        _ => vec![elements::ARC_MINUTE],
    })
}

fn fault(id: &str) -> f64 {
    match id {
        "err-hard" => heading::offset_error_deg(1000.0, 18_000.0),
        "err-tilt" => heading::tilt_error_deg(1.0, 66.0),
        "err-d" => heading::across_error_deg(10.0, 18_000.0),
        // mG of 200 mG for 0.1 degrees.
        _ => 0.1 / heading::across_error_deg(1.0, 200.0),
    }
}

fn unit(id: &str) -> f64 {
    let nt = |unit: Unit| unit.nanotesla().unwrap();
    match id {
        "unit-0" => nt(Unit::Gauss) / nt(Unit::Microtesla),
        "unit-1" => nt(Unit::Milligauss),
        "unit-2" => 0.5 * nt(Unit::Gauss),
        "unit-3" => 48.7 * nt(Unit::Microtesla),
        _ => nt(Unit::Tesla) / nt(Unit::Gauss),
    }
}

fn local_time(id: &str, inputs: &str) -> Got {
    let offset_h = Station::new("", 0.0, after(inputs, "lon"), 0.0).unwrap().local_mean_offset_h();
    if id == "lmt" {
        return Got::Numbers(vec![60.0 * offset_h]);
    }
    let hours: f64 = inputs[..2].parse().unwrap();
    let seconds = (3600.0 * (hours + offset_h)).rem_euclid(86_400.0).round();
    let (h, m, s) = (seconds / 3600.0, seconds / 60.0 % 60.0, seconds % 60.0);
    Got::Word(format!("{:02}:{:02}:{:02} day before", h as u32, m as u32, s as u32))
}

/// Days since the last day of the year before.
fn day_of_year(date: &str) -> f64 {
    let part = |from: usize, to: usize| date[from..to].parse::<u32>().unwrap();
    let year = part(0, 4) as i32;
    let day = Instant::from_date(year, part(5, 7), part(8, 10)).unwrap();
    let before = Instant::from_date(year - 1, 12, 31).unwrap();
    (day.0 - before.0) as f64 / 86_400e9
}

/// The middle between the first and the last of the values that a mean is made of.
fn centre(id: &str) -> String {
    let minute = 60_000_000_000;
    let (first, last) = if id == "cen-d" {
        let midnight = Instant::from_date(2026, 5, 1).unwrap();
        (midnight.0, midnight.0 + 1439 * minute)
    } else {
        // Hourly means of a leap year, each centred on its half hour less half a minute.
        let (start, end) = (Instant::from_date(2024, 1, 1), Instant::from_date(2025, 1, 1));
        (start.unwrap().0, end.unwrap().0 - minute)
    };
    let middle = Instant(first + (last - first) / 2).iso();
    let text = middle.trim_end_matches('Z');
    if id == "cen-d" { text[11..].to_owned() } else { text[5..].to_owned() }
}

fn decimal_year(text: &str) -> f64 {
    let part = |from: usize, to: usize| text[from..to].parse::<u32>().unwrap();
    let civil = Civil {
        year: part(0, 4) as i32,
        month: part(5, 7),
        day: part(8, 10),
        hour: part(11, 13),
        minute: part(14, 16),
        second: 0,
        nanos: 0,
    };
    Instant::from_civil(civil).unwrap().decimal_year()
}

fn columns(points: &[Vec3]) -> [Vec<f64>; 3] {
    std::array::from_fn(|axis| points.iter().map(|p| p[axis]).collect())
}

fn fitted(points: &[Vec3], model: Model, field: Option<(f64, f64)>) -> Calibration {
    let [x, y, z] = columns(points);
    let options = Options { model, field, robust: false, reject_beyond: 0.0, tied_to_x: false };
    fit([&x, &y, &z], |_| true, &options).unwrap()
}

fn sides(centre: Vec3, radius: f64) -> Vec<Vec3> {
    let side = |k: usize| {
        let mut p = centre;
        p[k / 2] += if k.is_multiple_of(2) { radius } else { -radius };
        p
    };
    (0..6).map(side).collect()
}

fn calibration(kind: &str) -> Got {
    Got::Numbers(match kind {
        "sphere" => {
            let found = fitted(&sides([10.0, -20.0, 30.0], 50.0), Model::Sphere, None);
            [found.offset.to_vec(), vec![found.radius_raw]].concat()
        }
        "scale" => {
            let points = sides([40.0, 7.0, -90.0], 512.4);
            // Microtesla a count.
            vec![fitted(&points, Model::Sphere, Some((48.70, 0.0))).matrix[0][0]]
        }
        "ellipsoid" => {
            let w: Mat3 = [[1.10, 0.05, -0.02], [0.05, 0.95, 0.03], [-0.02, 0.03, 1.00]];
            let offset = [12.5, -30.0, 7.25];
            let points: Vec<Vec3> = (0..27)
                .map(|k| [k / 9, k / 3 % 3, k % 3].map(|v| f64::from(v) - 1.0))
                .filter(|u| vector::norm(*u) > 0.0)
                .map(|u| vector::apply(&w, u.map(|v| 48.0 * v / vector::norm(u))))
                .map(|b| std::array::from_fn(|k| b[k] + offset[k]))
                .collect();
            let found = fitted(&points, Model::Ellipsoid, Some((48.0, 0.0)));
            [found.offset.to_vec(), found.matrix.concat()].concat()
        }
        "root" => {
            // The symmetric correction of a triangular truth, times that truth, is a rotation.
            let m: Mat3 = [[1.1, 0.0, 0.0], [0.05, 0.95, 0.0], [-0.02, 0.03, 1.0]];
            let points: Vec<Vec3> = sphere_points().iter().map(|u| vector::apply(&m, *u)).collect();
            let found = fitted(&points, Model::Ellipsoid, Some((1.0, 0.0)));
            vec![orientation::angle_deg(&vector::multiply(&found.matrix, &m))]
        }
        _ => {
            let points = [[25.0, 3.0], [5.0, 23.0], [-15.0, 3.0], [5.0, -17.0]];
            let points: Vec<Vec3> = points.iter().map(|[x, y]| [*x, *y, 4.0]).collect();
            let found = fitted(&points, Model::Circle, None);
            vec![found.offset[0], found.offset[1], found.radius_raw]
        }
    })
}

fn sphere_points() -> Vec<Vec3> {
    (0..100)
        .map(|k| {
            let z = (f64::from(k) + 0.5) / 50.0 - 1.0;
            let (sin, cos) = libm::sincos(f64::from(k) * 2.4);
            let across = (1.0 - z * z).sqrt();
            [across * cos, across * sin, z]
        })
        .collect()
}

/// Gravity and field of one tilted pose: the cosine of the angle between them.
fn dot_invariant() -> f64 {
    let pose = vector::transpose(&orientation::tilt(23.0, -41.0));
    let gravity = vector::apply(&pose, [0.0, 0.0, 1.0]);
    let field = vector::apply(&pose, elements::components(10.0, 66.0, 1.0));
    vector::dot(gravity, field)
}
