//! Published series that the tests of this module are held against.

/// Annual flow of the Nile at Aswan, 1871–1970, 10⁸ m³: Cobb, Biometrika 65, 243 (1978); as distributed with statsmodels.
pub(crate) const NILE: [f64; 100] = [
    1120.0, 1160.0, 963.0, 1210.0, 1160.0, 1160.0, 813.0, 1230.0, 1370.0, 1140.0, 995.0, 935.0,
    1110.0, 994.0, 1020.0, 960.0, 1180.0, 799.0, 958.0, 1140.0, 1100.0, 1210.0, 1150.0, 1250.0,
    1260.0, 1220.0, 1030.0, 1100.0, 774.0, 840.0, 874.0, 694.0, 940.0, 833.0, 701.0, 916.0, 692.0,
    1020.0, 1050.0, 969.0, 831.0, 726.0, 456.0, 824.0, 702.0, 1120.0, 1100.0, 832.0, 764.0, 821.0,
    768.0, 845.0, 864.0, 862.0, 698.0, 845.0, 744.0, 796.0, 1040.0, 759.0, 781.0, 865.0, 845.0,
    944.0, 984.0, 897.0, 822.0, 1010.0, 771.0, 676.0, 649.0, 846.0, 812.0, 742.0, 801.0, 1040.0,
    860.0, 874.0, 848.0, 890.0, 744.0, 749.0, 838.0, 1050.0, 918.0, 986.0, 797.0, 923.0, 975.0,
    815.0, 1020.0, 906.0, 901.0, 1170.0, 912.0, 746.0, 919.0, 718.0, 714.0, 740.0,
];

/// Forty values of Page (1955), used by Pettitt, Appl. Statist. 28, 126 (1979), Table 1; read in a package's documentation.
pub(crate) const PAGE: [f64; 40] = [
    -1.05, 0.96, 1.22, 0.58, -0.98, -0.03, -1.54, -0.71, -0.35, 0.66, 0.44, 0.91, -0.02, -1.42,
    1.26, -1.02, -0.81, 1.66, 1.05, 0.97, 2.14, 1.22, -0.24, 1.6, 0.72, -0.12, 0.44, 0.03, 0.66,
    0.56, 1.37, 1.66, 0.1, 0.8, 1.29, 0.49, -0.07, 1.18, 3.29, 1.84,
];

/// Worked Mann–Kendall example of a course note, n = 14, one tie.
pub(crate) const BY_HAND: [f64; 14] = [
    12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7,
];

/// Days of a generated series with gaps and one repeated day (own fixture).
pub(crate) const IRREGULAR_DAYS: [f64; 40] = [
    1.0, 4.0, 5.0, 8.0, 9.0, 10.0, 11.0, 11.0, 15.0, 16.0, 17.0, 18.0, 19.0, 20.0, 21.0, 22.0,
    23.0, 24.0, 25.0, 28.0, 29.0, 30.0, 31.0, 32.0, 33.0, 34.0, 35.0, 38.0, 39.0, 42.0, 43.0, 46.0,
    47.0, 48.0, 49.0, 50.0, 51.0, 52.0, 53.0, 54.0,
];

/// Values of that series, rounded to 0.01 (own fixture).
pub(crate) const IRREGULAR_VALUES: [f64; 40] = [
    1.46, 1.5, 1.47, 1.42, 1.47, 1.48, 1.35, 1.42, 1.36, 1.4, 1.33, 1.39, 1.38, 1.36, 1.32, 1.35,
    1.31, 1.29, 1.36, 1.28, 1.38, 1.36, 1.21, 1.32, 1.25, 1.3, 1.29, 1.17, 1.25, 1.24, 1.29, 1.16,
    1.25, 1.16, 1.19, 1.16, 1.27, 1.22, 1.3, 1.21,
];

/// Seeded standard normal noise for simulations in tests.
pub(crate) struct Noise(rand_chacha::ChaCha8Rng);

impl Noise {
    pub(crate) fn new(seed: u64) -> Noise {
        use rand::SeedableRng;
        Noise(rand_chacha::ChaCha8Rng::seed_from_u64(seed))
    }

    /// One standard normal number.
    pub(crate) fn normal(&mut self) -> f64 {
        use rand::RngExt;
        let (u, v): (f64, f64) = (1.0 - self.0.random::<f64>(), self.0.random());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }

    /// `n` readings of first-order autoregressive noise with unit variance.
    pub(crate) fn autoregressive(&mut self, n: usize, phi: f64) -> Vec<f64> {
        let mut before = self.normal();
        (0..n)
            .map(|i| {
                if i > 0 {
                    before = phi * before + (1.0 - phi * phi).sqrt() * self.normal();
                }
                before
            })
            .collect()
    }
}
