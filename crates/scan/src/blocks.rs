//! A long column that grows in blocks, so that reading a large log never
//! holds a column twice while it grows; where the length can be foreseen, the
//! first block is as long as that and nothing is copied at the end.

const BLOCK: usize = 1 << 16;

/// Values in blocks of 65,536, but for the first.
#[derive(Clone, Debug)]
pub struct Blocks<T> {
    full: Vec<Vec<T>>,
    tail: Vec<T>,
    limit: usize,
}

impl<T: Copy> Blocks<T> {
    /// No values yet, and about so many to come; 0 when that is not known.
    pub fn expecting(len: usize) -> Self {
        let limit = len.max(BLOCK);
        let room = if len > BLOCK { limit } else { 0 };
        Self { full: Vec::new(), tail: Vec::with_capacity(room), limit }
    }

    /// `len` copies of a value.
    pub fn filled(value: T, len: usize) -> Self {
        let mut blocks = Self::expecting(0);
        (0..len).for_each(|_| blocks.push(value));
        blocks
    }

    /// Adds a value at the end.
    #[inline(always)]
    pub fn push(&mut self, value: T) {
        if self.tail.len() == self.limit {
            self.turn();
        }
        self.tail.push(value);
    }

    #[cold]
    fn turn(&mut self) {
        let next = Vec::with_capacity(BLOCK);
        self.limit = BLOCK;
        self.full.push(std::mem::replace(&mut self.tail, next));
    }

    /// Number of values.
    #[must_use]
    pub fn len(&self) -> usize {
        self.full.iter().map(Vec::len).sum::<usize>() + self.tail.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// All values in one piece; each block is freed once it is copied.
    pub fn into_vec(self) -> Vec<T> {
        if self.full.is_empty() {
            return self.tail;
        }
        let mut out = Vec::with_capacity(self.len());
        for block in self.full {
            out.extend_from_slice(&block);
        }
        out.extend_from_slice(&self.tail);
        out
    }
}

/// Adds a row: one value at the end of each column.
pub fn push_row(columns: &mut [Blocks<f64>], values: &[f64]) {
    for (column, value) in columns.iter_mut().zip(values) {
        column.push(*value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_come_out_in_the_order_they_went_in() {
        let mut blocks = Blocks::filled(7usize, 3);
        (3..200_000).for_each(|k| blocks.push(k));
        assert_eq!(blocks.len(), 200_000);
        let mut foreseen = Blocks::expecting(100_000);
        (0..200_000).for_each(|k| foreseen.push(k));
        assert_eq!(foreseen.into_vec(), (0..200_000).collect::<Vec<usize>>());
        let out = blocks.into_vec();
        assert!(out[..3] == [7, 7, 7] && out[3..].iter().enumerate().all(|(k, v)| *v == k + 3));
    }
}
