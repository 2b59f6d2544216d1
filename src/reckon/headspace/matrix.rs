//! Symmetric matrices of three rows, kept as their upper half: 00, 01, 02, 11, 12, 22.

/// The product with a vector.
#[allow(clippy::many_single_char_names)] // as a matrix is written on paper
pub(super) fn times(matrix: &[f64; 6], vector: &[f64; 3]) -> [f64; 3] {
    let [m00, m01, m02, m11, m12, m22] = *matrix;
    [dot(&[m00, m01, m02], vector), dot(&[m01, m11, m12], vector), dot(&[m02, m12, m22], vector)]
}

/// The sum of the products of two vectors.
pub(super) fn dot(one: &[f64; 3], other: &[f64; 3]) -> f64 {
    one[0] * other[0] + one[1] * other[1] + one[2] * other[2]
}

/// What is left of a covariance after something with these covariances and this variance was seen. A variance never
/// falls below nothing, however the last digits fall.
pub(super) fn reduce(covariance: &mut [f64; 6], spread: &[f64; 3], variance: f64) {
    let [x, y, z] = *spread;
    for (entry, product) in covariance.iter_mut().zip([x * x, x * y, x * z, y * y, y * z, z * z]) {
        *entry -= product / variance;
    }
    for diagonal in [0, 3, 5] {
        covariance[diagonal] = covariance[diagonal].max(0.0);
    }
}
