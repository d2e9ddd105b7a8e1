//! A long column that grows in blocks, so that reading a large log never
//! holds a column twice while it grows.

const BLOCK: usize = 1 << 16;

/// Values in blocks of 65,536.
#[derive(Clone, Debug)]
pub(crate) struct Blocks<T> {
    full: Vec<Vec<T>>,
    tail: Vec<T>,
}

impl<T: Copy> Blocks<T> {
    /// `len` copies of a value.
    pub(crate) fn filled(value: T, len: usize) -> Self {
        let mut blocks = Self { full: Vec::new(), tail: Vec::new() };
        (0..len).for_each(|_| blocks.push(value));
        blocks
    }

    /// Adds a value at the end.
    #[inline]
    pub(crate) fn push(&mut self, value: T) {
        if self.tail.len() == BLOCK {
            let next = Vec::with_capacity(BLOCK);
            self.full.push(std::mem::replace(&mut self.tail, next));
        }
        self.tail.push(value);
    }

    /// Number of values.
    pub(crate) fn len(&self) -> usize {
        self.full.len() * BLOCK + self.tail.len()
    }

    /// All values in one piece; each block is freed once it is copied.
    pub(crate) fn into_vec(self) -> Vec<T> {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_come_out_in_the_order_they_went_in() {
        let mut blocks = Blocks::filled(7usize, 3);
        (3..200_000).for_each(|k| blocks.push(k));
        assert_eq!(blocks.len(), 200_000);
        let out = blocks.into_vec();
        assert!(out[..3] == [7, 7, 7] && out[3..].iter().enumerate().all(|(k, v)| *v == k + 3));
    }
}
