//! Whole numbers in as many bytes as they need, seven bits a byte, the highest first.

/// Appends `value`: one to nine bytes, of which a ninth holds eight bits.
#[inline]
pub(super) fn put(value: u64, out: &mut Vec<u8>) {
    // By far the most.
    if value < 0x80 {
        return out.push(value as u8);
    }
    let bytes = size(value);
    let last = if bytes == 9 { 8 } else { 7 };
    for i in (0..bytes - 1).rev() {
        out.push((value >> (last + 7 * i)) as u8 | 0x80);
    }
    out.push(if bytes == 9 {
        value as u8
    } else {
        value as u8 & 0x7f
    });
}

/// How many bytes it takes.
pub(super) fn size(value: u64) -> usize {
    match value.checked_ilog2() {
        None => 1,
        Some(bit) => (bit as usize / 7 + 1).min(9),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// As the documentation words it.
    fn read(bytes: &[u8]) -> (u64, usize) {
        let mut value = 0;
        for (i, byte) in bytes.iter().enumerate() {
            if i == 8 {
                return (value << 8 | u64::from(*byte), 9);
            }
            value = value << 7 | u64::from(byte & 0x7f);
            if byte & 0x80 == 0 {
                return (value, i + 1);
            }
        }
        panic!("ends too soon");
    }

    #[test]
    fn what_is_put_is_read_and_as_long_as_said() {
        let near = |bit: u32| (-2..=2).map(move |d| (1u64 << bit).wrapping_add_signed(d));
        for value in (0..64).flat_map(near).chain([0, u64::MAX, i64::MIN as u64]) {
            let mut bytes = vec![];
            put(value, &mut bytes);
            assert_eq!(read(&bytes), (value, bytes.len()), "{value:#x}");
            assert_eq!(size(value), bytes.len(), "{value:#x}");
        }
    }
}
