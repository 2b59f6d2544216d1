//! The constant of the OIV method OIV-MA-AS323-04C: by alcohol and temperature, for an ionic strength of 0.038.

use std::fmt;

use super::wine::SulfurError;

/// The temperatures of the table, °C.
const TEMPERATURES_C: [f64; 5] = [20.0, 25.0, 30.0, 35.0, 40.0];
/// The alcohols of the table, % vol.
const ALCOHOLS_PCT: [f64; 5] = [0.0, 5.0, 10.0, 15.0, 20.0];

/// The mixed constant pkM, table 2 of OIV-MA-AS323-04C (from memory; it differs from the thermodynamic constants of
/// table 1, which were read, by what Debye and Hückel's law gives, to 0.001). A row an alcohol, a column a temperature.
const PKM: [[f64; 5]; 5] = [
    [1.723, 1.925, 2.143, 2.257, 2.416],
    [1.819, 2.020, 2.220, 2.317, 2.446],
    [1.916, 2.116, 2.311, 2.405, 2.522],
    [2.014, 2.216, 2.417, 2.520, 2.640],
    [2.114, 2.317, 2.538, 2.663, 2.803],
];

/// That a wine lies outside the table, which then was read at its edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beyond {
    /// It is colder than the table's first column.
    Colder,
}

impl fmt::Display for Beyond {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the OIV table begins at 20 °C and was read there: in colder wine less is molecular")
    }
}

/// The constant for a wine, between the table's lines in proportion, and whether the table had to be read at its edge.
/// Colder than 20 °C counts as 20 °C. For 0 to 20 % vol and up to 40 °C.
pub(super) fn constant(alcohol_pct: f64, temperature_c: f64) -> Result<(f64, Option<Beyond>), SulfurError> {
    let (row, down) = between(&ALCOHOLS_PCT, alcohol_pct).ok_or(SulfurError::BeyondOivTable(alcohol_pct))?;
    let coldest = TEMPERATURES_C[0];
    let beyond = (temperature_c < coldest).then_some(Beyond::Colder);
    let (column, across) =
        between(&TEMPERATURES_C, temperature_c.max(coldest)).ok_or(SulfurError::Temperature(temperature_c))?;
    let along = |row: usize| mixed(PKM[row][column], PKM[row][column + 1], across);
    Ok((mixed(along(row), along(row + 1), down), beyond))
}

/// The line of a table before a value, and how far the value is to the next line, 0 to 1.
fn between(lines: &[f64; 5], value: f64) -> Option<(usize, f64)> {
    let before = (0..lines.len() - 1).find(|&at| (lines[at]..=lines[at + 1]).contains(&value))?;
    Some((before, (value - lines[before]) / (lines[before + 1] - lines[before])))
}

fn mixed(from: f64, to: f64, share: f64) -> f64 {
    from * (1.0 - share) + to * share
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Table 1 of OIV-MA-AS323-04C, the thermodynamic constant pkT; 20 % vol from memory.
    const PKT: [[f64; 5]; 5] = [
        [1.798, 2.000, 2.219, 2.334, 2.493],
        [1.897, 2.098, 2.299, 2.397, 2.527],
        [1.997, 2.198, 2.394, 2.488, 2.606],
        [2.099, 2.301, 2.503, 2.607, 2.728],
        [2.203, 2.406, 2.628, 2.754, 2.895],
    ];

    #[test]
    fn the_table_is_read_on_its_lines() {
        for (row, alcohol) in ALCOHOLS_PCT.into_iter().enumerate() {
            for (column, temperature) in TEMPERATURES_C.into_iter().enumerate() {
                let (constant, beyond) = constant(alcohol, temperature).unwrap();
                assert!((constant - PKM[row][column]).abs() < 1e-12, "{alcohol} % vol, {temperature} °C");
                assert_eq!(beyond, None);
            }
        }
    }

    /// Debye and Hückel: pkM = pkT − A √I / (1 + B √I), where A and B climb a little with alcohol and with warmth. A slip
    /// of two in the last digit of either table shows.
    #[test]
    fn the_mixed_constant_is_below_the_thermodynamic_one_by_what_the_law_gives() {
        let lowered = |row: usize, column: usize| PKT[row][column] - PKM[row][column];
        for row in 0..5 {
            for column in 0..5 {
                let (rows, columns) = (f64::from(u8::try_from(row).unwrap()), f64::from(u8::try_from(column).unwrap()));
                let expected = 0.0747 + 0.0035 * rows + 0.0007 * columns;
                assert!((lowered(row, column) - expected).abs() < 0.0011, "{row} {column}: {}", lowered(row, column));
            }
        }
    }

    #[test]
    fn between_the_lines_in_proportion() {
        let (constant, beyond) = constant(13.0, 22.5).unwrap();
        let expected = 0.4 * f64::midpoint(1.916, 2.116) + 0.6 * f64::midpoint(2.014, 2.216);
        assert!((constant - expected).abs() < 1e-12 && beyond.is_none());
    }

    #[test]
    fn colder_wine_counts_as_twenty_degrees_and_it_is_said() {
        assert_eq!(constant(10.0, 12.0).unwrap(), (1.916, Some(Beyond::Colder)));
        assert_eq!(constant(20.1, 20.0), Err(SulfurError::BeyondOivTable(20.1)));
        assert!(constant(f64::NAN, 20.0).is_err() && constant(10.0, 41.0).is_err());
    }
}
