//! Elongation of a worn chain.

/// Pitch in mm of a chain of `pitch` mm that has grown by `elongation` (a ratio: 0.01 is one per cent).
///
/// A path of this pitch is the path of the worn chain: its links ride out on the sprockets to the circle on which the longer pitch
/// fits the same teeth, so arcs are still counted in teeth and only free links grow.
#[must_use]
pub fn elongated(pitch: f64, elongation: f64) -> f64 {
    pitch * (1.0 + elongation)
}

/// Cam degrees by which a driven sprocket of `teeth` teeth falls behind its driver when the chain has grown by `elongation`, with
/// `free_links` free links between the two on the tight side ([`super::Path::free_links`]).
///
/// The free links take up `elongation * free_links` links more, which the driven sprocket lacks: that many of its teeth, each
/// 360 / z degrees. Reckoned instead from the millimetres by which the strand grows, over the pitch radius, it comes to 0.13 % less on 36
/// teeth, because a tooth is a chord of the pitch circle and not an arc; links are what the sprocket counts. First order in the elongation. For crank degrees multiply by the crank's turns per turn of this sprocket (2 for a camshaft).
///
/// ```
/// use tautmark::plane::geometry::retard;
///
/// // 27.3511 free links on a 36-tooth sprocket at 1 %.
/// assert!((retard(27.3511, 0.01, 36) - 2.735_11).abs() < 1e-9);
/// assert_eq!(retard(27.3511, 0.0, 36), 0.0);
/// ```
#[must_use]
pub fn retard(free_links: f64, elongation: f64, teeth: u32) -> f64 {
    free_links * elongation * 360.0 / f64::from(teeth)
}
