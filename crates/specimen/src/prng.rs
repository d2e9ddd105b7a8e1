//! Random numbers: a seeded generator with named streams.
//!
//! A seed and the name of a stream go in, the same numbers come out on every
//! machine.  Each process of the scenario draws from its own stream in order
//! of time, so that a shorter log is the beginning of a longer one.  Nothing
//! here is fit for secrets.
//!
//! Sources: generator xoshiro256++ (D. Blackman and S. Vigna, ACM Trans. Math.
//! Softw. 47 (2021) 36); its state is filled by SplitMix64 (G. L. Steele Jr,
//! D. Lea and C. H. Flood, OOPSLA 2014, 453–472); the normal law by G. E. P.
//! Box and M. E. Muller, Ann. Math. Stat. 29 (1958) 610–611.

/// A stream of random numbers.
#[derive(Clone, Debug)]
pub struct Prng {
    state: [u64; 4],
    spare: Option<f64>,
}

impl Prng {
    /// The stream of this name under a seed.
    pub fn new(seed: u64, stream: &str) -> Self {
        // FNV-1a keeps the names apart (G. Fowler, L. C. Noll and K.-P. Vo).
        let mut name = 0xCBF2_9CE4_8422_2325u64;
        for byte in stream.bytes() {
            name = (name ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01B3);
        }
        let mut mixer = seed ^ name;
        let mut word = || split_mix(&mut mixer);
        Self { state: [word(), word(), word(), word()], spare: None }
    }

    /// The next 64 random bits.
    pub fn bits(&mut self) -> u64 {
        let s = &mut self.state;
        let out = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let shifted = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= shifted;
        s[3] = s[3].rotate_left(45);
        out
    }

    /// Uniform in 0 to 1, without 1.
    pub fn uniform(&mut self) -> f64 {
        (self.bits() >> 11) as f64 * (1.0 / (1u64 << 53) as f64)
    }

    /// Uniform between two numbers.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// Normal with mean 0 and standard deviation 1.
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        // 1 − u lies above 0, so that its logarithm is finite.
        let radius = (-2.0 * libm::log(1.0 - self.uniform())).sqrt();
        let (sin, cos) = libm::sincos(std::f64::consts::TAU * self.uniform());
        self.spare = Some(radius * sin);
        radius * cos
    }

    /// A Poisson number with this mean, for means up to some hundreds: the
    /// number of uniform factors that keep a product above exp(−mean)
    /// (D. E. Knuth, The Art of Computer Programming 2, 3.4.1).
    pub fn poisson(&mut self, mean: f64) -> u32 {
        let floor = libm::exp(-mean);
        let mut product = self.uniform();
        let mut count = 0;
        while product > floor && count < 10_000 {
            product *= self.uniform();
            count += 1;
        }
        count
    }
}

fn split_mix(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn split_mix_gives_the_published_numbers() {
        // Seed 1234567; the worked example of the task "Pseudo-random
        // numbers/Splitmix64" at rosettacode.org, from memory.
        let mut state = 1_234_567;
        let found: Vec<u64> = (0..5).map(|_| split_mix(&mut state)).collect();
        assert_eq!(
            found,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
                4_593_380_528_125_082_431,
                16_408_922_859_458_223_821,
            ]
        );
    }

    #[test]
    fn the_generator_gives_the_numbers_of_its_authors_code() {
        // State 1, 2, 3, 4; the authors' C code, as the library rand_xoshiro
        // 0.6 carries the numbers in its own test (from memory).
        let mut prng = Prng { state: [1, 2, 3, 4], spare: None };
        let found: Vec<u64> = (0..10).map(|_| prng.bits()).collect();
        assert_eq!(
            found,
            [
                41_943_041,
                58_720_359,
                3_588_806_011_781_223,
                3_591_011_842_654_386,
                9_228_616_714_210_784_205,
                9_973_669_472_204_895_162,
                14_011_001_112_246_962_877,
                12_406_186_145_184_390_807,
                15_849_039_046_786_891_736,
                10_450_023_813_501_588_000,
            ]
        );
    }

    #[test]
    fn normal_numbers_have_mean_nought_deviation_one_and_kurtosis_three() {
        let mut prng = Prng::new(7, "test");
        let x: Vec<f64> = (0..200_000).map(|_| prng.normal()).collect();
        let moment = |k: i32| x.iter().map(|v| v.powi(k)).sum::<f64>() / x.len() as f64;
        // Five standard errors: √(1/N), √(2/N), √(96/N) for the fourth.
        assert!(moment(1).abs() < 5.0 * (1.0 / 2e5f64).sqrt());
        assert!((moment(2) - 1.0).abs() < 5.0 * (2.0 / 2e5f64).sqrt());
        assert!((moment(4) - 3.0).abs() < 5.0 * (96.0 / 2e5f64).sqrt());
    }

    #[test]
    fn poisson_numbers_have_equal_mean_and_variance() {
        let mut prng = Prng::new(7, "counts");
        let x: Vec<f64> = (0..50_000).map(|_| f64::from(prng.poisson(23.0))).collect();
        let mean = x.iter().sum::<f64>() / 5e4;
        let variance = x.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / 5e4;
        assert!((mean - 23.0).abs() < 5.0 * (23.0 / 5e4f64).sqrt());
        assert!((variance / mean - 1.0).abs() < 5.0 * (2.0 / 5e4f64).sqrt());
    }

    #[test]
    fn streams_of_one_seed_differ() {
        assert_ne!(Prng::new(1, "a").bits(), Prng::new(1, "b").bits());
        assert_ne!(Prng::new(1, "a").bits(), Prng::new(2, "a").bits());
    }
}
