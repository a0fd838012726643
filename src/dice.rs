//! For tests: numbers that look as if they were rolled, the same at every run.

/// Numbers from 0 up to 1 from a seed that is not 0 (Marsaglia's xorshift, shifts 13, 7, 17; from memory).
pub struct Dice(pub u64);

impl Dice {
    /// The next number.
    pub fn roll(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}
