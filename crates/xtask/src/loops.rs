//! Looks for loops that begin while operands wait for something else.
//!
//! In goes a module; out comes how many of its loops do so.  WebKit 2.50 changes to
//! quicker code in the middle of a loop, and where operands waited under it that went
//! wrong now and then: channels lost, or the engine at its end (WebKit's bug 301435 is
//! such a fault).  The compiler makes no such loops; optimisers of the finished module do.

use wasmparser::{BinaryReaderError, Operator, Parser, ValidPayload, Validator};

/// The loops of a module.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Loops {
    /// All of them.
    pub all: usize,
    /// Those that begin while operands wait.
    pub over_operands: usize,
}

/// Counts the loops of a module.
///
/// # Errors
///
/// The reader's own, when the bytes are no valid module.
pub fn count(module: &[u8]) -> Result<Loops, BinaryReaderError> {
    let mut loops = Loops::default();
    let mut validator = Validator::new();
    for payload in Parser::new(0).parse_all(module) {
        let ValidPayload::Func(function, body) = validator.payload(&payload?)? else {
            continue;
        };
        let mut function = function.into_validator(Default::default());
        function.read_locals(&mut body.get_binary_reader())?;
        for read in body.get_operators_reader()?.into_iter_with_offsets() {
            let (operator, place) = read?;
            if matches!(operator, Operator::Loop { .. }) {
                loops.all += 1;
                loops.over_operands += usize::from(function.operand_stack_height() > 0);
            }
            function.op(place, &operator)?;
        }
    }
    Ok(loops)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A module with one function that gives a number.
    fn module(code: &[u8]) -> Vec<u8> {
        let mut bytes = b"\0asm\x01\0\0\0\x01\x05\x01\x60\0\x01\x7f\x03\x02\x01\0\x0a".to_vec();
        let length = u8::try_from(code.len() + 2).unwrap();
        bytes.extend([length + 2, 1, length, 0]);
        bytes.extend(code);
        bytes.push(0x0b);
        bytes
    }

    /// `i32.const 1`, and an empty loop ("WebAssembly Core Specification 2.0", 5.4.1 and 5.4.6).
    const ONE: [u8; 2] = [0x41, 1];
    const LOOP: [u8; 3] = [0x03, 0x40, 0x0b];

    #[test]
    fn a_loop_before_a_number_has_nothing_under_it() {
        let found = count(&module(&[&LOOP[..], &ONE].concat())).unwrap();
        assert_eq!(found, Loops { all: 1, over_operands: 0 });
    }

    #[test]
    fn a_loop_after_a_number_has_it_under_itself() {
        let found = count(&module(&[&ONE[..], &LOOP].concat())).unwrap();
        assert_eq!(found, Loops { all: 1, over_operands: 1 });
    }

    #[test]
    fn a_number_outside_the_block_of_the_loop_counts_too() {
        let block = [&ONE[..], &[0x02, 0x40], &LOOP, &[0x0b]].concat();
        assert_eq!(count(&module(&block)).unwrap(), Loops { all: 1, over_operands: 1 });
    }

    #[test]
    fn what_is_no_module_is_refused() {
        assert!(count(b"a log").is_err());
    }
}
