//! The entropy-coded part of a JPEG file (ITU-T T.81, annexes F and G): Huffman codes walked without
//! reconstructing anything, only to see whether the data last exactly as long as the picture does.

use super::Damage;

/// Bytes from which stuffed zeros are taken at once.
const CHUNK: usize = 4096;

/// A reader of bits behind which stuffed zero bytes have vanished. It stops before any marker.
pub struct Bits<'bytes> {
    source: Source<'bytes>,
    loaded: Loaded,
}

/// Where bits come from.
struct Source<'bytes> {
    bytes: &'bytes [u8],
    /// The next byte of the file that isn't in `clean` yet.
    next: usize,
    /// Bytes without stuffing, of which those from `at` on are still to be loaded.
    clean: Vec<u8>,
    at: usize,
}

/// Bits at hand. What takes many of them keeps its own copy, for which the processor has registers.
#[derive(Clone, Copy)]
struct Loaded {
    /// The next bit on top; below the last, what follows as far as it is seen, or zeros.
    buffer: u64,
    count: u32,
}

impl Loaded {
    #[inline(always)]
    fn skip(&mut self, length: u32) {
        self.buffer <<= length;
        self.count -= length;
    }
}

impl Source<'_> {
    /// Loads bits until there are 56 at least, or no more.
    #[inline(always)]
    fn refill(&mut self, loaded: Loaded) -> Loaded {
        let Some(eight) = self.clean.get(self.at..).and_then(|rest| rest.first_chunk::<8>()) else { return self.refill_with_few(loaded) };
        let bytes = (63 - loaded.count) / 8;
        self.at += bytes as usize;
        Loaded { buffer: loaded.buffer | u64::from_be_bytes(*eight) >> loaded.count, count: loaded.count + 8 * bytes }
    }

    #[cold]
    #[inline(never)]
    fn refill_with_few(&mut self, mut loaded: Loaded) -> Loaded {
        self.clean.drain(..self.at);
        self.at = 0;
        while self.clean.len() < CHUNK {
            let rest = self.bytes.get(self.next..).unwrap_or_default();
            let plain = memchr::memchr(0xff, rest).unwrap_or(rest.len()).min(CHUNK);
            self.clean.extend_from_slice(&rest[..plain]);
            self.next += plain;
            match rest[plain..] {
                [0xff, 0, ..] => {
                    self.clean.push(0xff);
                    self.next += 2;
                }
                [] | [0xff, ..] => break,
                _ => {}
            }
        }
        while loaded.count <= 56
            && let Some(&byte) = self.clean.get(self.at)
        {
            loaded.buffer |= u64::from(byte) << (56 - loaded.count);
            loaded.count += 8;
            self.at += 1;
        }
        loaded
    }
}

impl<'bytes> Bits<'bytes> {
    /// A reader from byte `at` of the file.
    pub fn new(bytes: &'bytes [u8], at: usize) -> Self {
        let source = Source { bytes, next: at, clean: Vec::with_capacity(2 * CHUNK), at: 0 };
        Self { source, loaded: Loaded { buffer: 0, count: 0 } }
    }

    #[inline(always)]
    fn refill(&mut self) {
        self.loaded = self.source.refill(self.loaded);
    }

    /// The next `length` bits (at most 16) as a number.
    #[inline(always)]
    fn take(&mut self, length: u32) -> Result<u32, Damage> {
        if length == 0 {
            return Ok(0);
        }
        self.refill();
        let value = (self.loaded.buffer >> (64 - length)) as u32;
        self.skip(length)?;
        Ok(value)
    }

    #[inline(always)]
    fn skip(&mut self, length: u32) -> Result<(), Damage> {
        if length > self.loaded.count {
            return Err(self.end_of_data());
        }
        self.loaded.skip(length);
        Ok(())
    }

    /// Ends a run of data: less than a byte of padding may be left before the marker, at whose first 0xff the
    /// returned position stands.
    pub fn finish(mut self) -> Result<usize, Damage> {
        self.refill();
        if self.loaded.count >= 8 { Err(Damage::Corrupt) } else { Ok(self.source.next) }
    }

    /// What it means that the data stop here: the end of the file or of the picture came too early, or some other marker stands in the middle of
    /// the data.
    #[cold]
    fn end_of_data(&self) -> Damage {
        match self.source.bytes.get(self.source.next..).unwrap_or_default().iter().find(|&&byte| byte != 0xff) {
            None | Some(0xd9) => Damage::CutShort,
            Some(_) => Damage::Corrupt,
        }
    }
}

/// A Huffman table, ready for looking up the next 16 bits.
#[derive(Clone)]
pub struct Table {
    /// For the next `FAST_BITS` bits: code length << 8 | symbol, or 0 where the code is longer.
    fast: Vec<u16>,
    /// The first code of each longer length, aligned to 16 bits, with its length and place in `symbols`.
    long: Vec<(u32, u32, u32, usize)>,
    symbols: Vec<u8>,
    /// For the next `SEVERAL_BITS` bits, what whole steps through a block's AC coefficients lie in them; see [`Steps`].
    /// Empty until [`Table::prepare`].
    several: Vec<Steps>,
    /// For the next `SEVERAL_BITS` bits, the coefficient that lies whole in them. Empty until [`Table::prepare_levels`].
    levels: Vec<Level>,
    /// For the next `PAIR_BITS` bits, the one or two coefficients that lie whole in them. Empty until [`Table::prepare_to_read`].
    pairs: Vec<Pair>,
}

const FAST_BITS: u32 = 10;
/// More bits hold more steps, and a larger table leaves the processor's cache: 12 was fastest of 10 to 14 on photos of 8 megapixels.
const SEVERAL_BITS: u32 = 12;
/// Likewise, with larger entries.
const PAIR_BITS: u32 = 12;

/// One AC coefficient of a sequential file.
#[derive(Clone, Copy, Default)]
struct Level {
    /// How many bits it takes; 0 where it isn't whole.
    bits: u8,
    /// How many coefficients it passes, itself among them; 0 where it ends the block.
    passes: u8,
    value: i16,
}

/// One or two AC coefficients of a block of a sequential file, and its end where that comes next.
#[derive(Clone, Copy, Default)]
struct Pair {
    /// How many bits they take; 0 where not even one is whole.
    bits: u8,
    /// How many coefficients each passes, itself among them: the first 0 where the block ends at once, the second 0 where there is only one.
    passes: [u8; 2],
    /// Whether the block ends after them.
    ends: bool,
    /// Where there is only one, the second's value is the first's.
    values: [i16; 2],
}

/// Some steps through the AC coefficients of a block of a sequential file: codes, each with the bits behind it.
#[derive(Clone, Copy, Default)]
struct Steps {
    /// How many bits they take; 0 where not even one step is whole.
    bits: u8,
    /// How many coefficients they pass.
    coefficients: u8,
    /// Whether the last of them ends the block.
    ends: bool,
}

impl Table {
    /// The table of a DHT segment: how many codes there are of each length from 1 to 16, and their symbols.
    /// `None` where these don't make a code.
    pub fn new(counts: &[u8; 16], symbols: &[u8]) -> Option<Self> {
        let mut fast = vec![0; 1 << FAST_BITS];
        let mut long = Vec::new();
        let (mut code, mut used) = (0_u32, 0_usize);
        for (length, &count) in (1..).zip(counts) {
            let (first, end) = (code << (16 - length), (code + u32::from(count)) << (16 - length));
            if end > 1 << 16 {
                return None;
            }
            if length <= FAST_BITS {
                for (offset, &symbol) in symbols[used..].iter().take(count.into()).enumerate() {
                    let from = (code as usize + offset) << (FAST_BITS - length);
                    fast[from..][..1 << (FAST_BITS - length)].fill((length as u16) << 8 | u16::from(symbol));
                }
            } else if count > 0 {
                long.push((first, end, length, used));
            }
            used += usize::from(count);
            code = (code + u32::from(count)) << 1;
        }
        (used <= symbols.len()).then(|| Self {
            fast,
            long,
            symbols: symbols.to_vec(),
            several: Vec::new(),
            levels: Vec::new(),
            pairs: Vec::new(),
        })
    }

    /// Makes the table ready for the AC coefficients of sequential scans.
    pub fn prepare(&mut self) {
        if self.several.is_empty() {
            self.several = (0..1 << SEVERAL_BITS).map(|bits| self.steps(bits)).collect();
        }
    }

    /// Makes the table ready for reading the AC coefficients of sequential scans.
    pub fn prepare_to_read(&mut self) {
        self.prepare();
        if self.pairs.is_empty() {
            self.pairs = (0..1 << PAIR_BITS).map(|bits| self.pair(bits)).collect();
        }
    }

    /// Makes the table ready for the AC coefficients of progressive scans.
    pub fn prepare_levels(&mut self) {
        if self.levels.is_empty() {
            self.levels = (0..1 << SEVERAL_BITS).map(|bits| self.level(bits)).collect();
        }
    }

    /// The coefficients that lie whole in these `PAIR_BITS` bits.
    fn pair(&self, bits: u32) -> Pair {
        let bits = bits << (SEVERAL_BITS - PAIR_BITS);
        let within = |level: &Level, before: u8| level.bits > 0 && u32::from(level.bits + before) <= PAIR_BITS;
        let next = |before: u8| Some(self.level(bits << before & ((1 << SEVERAL_BITS) - 1))).filter(|level| within(level, before));
        let Some(first) = next(0) else { return Pair::default() };
        let one = Pair { bits: first.bits, passes: [first.passes, 0], ends: first.passes == 0, values: [first.value; 2] };
        match next(first.bits) {
            Some(second) if !one.ends => {
                let second_value = if second.passes == 0 { first.value } else { second.value };
                Pair {
                    bits: first.bits + second.bits,
                    passes: [first.passes, second.passes],
                    ends: second.passes == 0,
                    values: [first.value, second_value],
                }
            }
            _ => one,
        }
    }

    /// The coefficient that lies whole in these `SEVERAL_BITS` bits.
    fn level(&self, bits: u32) -> Level {
        let entry = self.fast[(bits >> (SEVERAL_BITS - FAST_BITS)) as usize];
        let (symbol, length) = (entry as u8, u32::from(entry >> 8));
        let size = u32::from(symbol & 15);
        let taken = length + size;
        if entry == 0 || taken > SEVERAL_BITS {
            return Level::default();
        }
        let value = (bits >> (SEVERAL_BITS - taken)) & ((1 << size) - 1);
        let ends = size == 0 && symbol != 0xf0;
        Level { bits: taken as u8, passes: if ends { 0 } else { (symbol >> 4) + 1 }, value: signed(value, size) as i16 }
    }

    /// The steps that lie whole in these `SEVERAL_BITS` bits.
    fn steps(&self, bits: u32) -> Steps {
        let mut steps = Steps::default();
        let bits = bits << (32 - SEVERAL_BITS);
        loop {
            let entry = self.fast[((bits << steps.bits) >> (32 - FAST_BITS)) as usize];
            let (symbol, length) = (entry as u8, (entry >> 8) as u8);
            let (taken, passed) = (steps.bits + length + (symbol & 15), steps.coefficients + (symbol >> 4) + 1);
            if entry == 0 || u32::from(taken) > SEVERAL_BITS || passed > 63 {
                return steps;
            }
            steps.bits = taken;
            // A run of sixteen zeros passes sixteen too; other symbols without a size end the block.
            if symbol & 15 == 0 && symbol != 0xf0 {
                return Steps { ends: true, ..steps };
            }
            steps.coefficients = passed;
        }
    }

    /// The next symbol.
    #[inline(always)]
    fn next(&self, bits: &mut Bits) -> Result<u8, Damage> {
        self.pass(bits, 0)
    }

    /// The next symbol, passed over together with the bits behind it that the symbol masked by `size_mask` counts.
    #[inline(always)]
    fn pass(&self, bits: &mut Bits, size_mask: u8) -> Result<u8, Damage> {
        if bits.loaded.count < 32 {
            bits.refill();
        }
        let entry = self.fast[(bits.loaded.buffer >> (64 - FAST_BITS)) as usize];
        let symbol = entry as u8;
        if entry != 0 {
            bits.skip(u32::from(entry >> 8) + u32::from(symbol & size_mask))?;
            return Ok(symbol);
        }
        let Some((symbol, length)) = self.long_code((bits.loaded.buffer >> 48) as u32) else {
            // All ones is no code: where the data ran out, the padding was taken for one.
            return Err(if bits.loaded.count < 16 { bits.end_of_data() } else { Damage::Corrupt });
        };
        bits.skip(length + u32::from(symbol & size_mask))?;
        Ok(symbol)
    }

    /// The symbol that the next 16 bits begin with, where its code is longer than `FAST_BITS`, and the code's length.
    #[cold]
    fn long_code(&self, bits: u32) -> Option<(u8, u32)> {
        let &(first, _, length, place) = self.long.iter().find(|(first, end, ..)| (*first..*end).contains(&bits))?;
        Some((self.symbols[place + ((bits - first) >> (16 - length)) as usize], length))
    }
}

/// Which coefficients of which bits a scan brings.
#[derive(Clone, Copy, Debug)]
pub struct Band {
    /// The first coefficient, in zigzag order.
    pub first: u8,
    /// The last coefficient, at most 63.
    pub last: u8,
    /// Whether it refines an earlier scan's coefficients by one bit.
    pub refines: bool,
    /// The lowest bit that it brings.
    pub low: u8,
}

/// The coefficients of a block that make its picture at half the size, as in [`Low`], on their way through the scans of a progressive file.
pub type Coarse = [i16; 16];

/// Walks one block of a sequential scan; `ac` must be prepared.
#[inline(always)]
pub fn walk_whole_block(bits: &mut Bits, dc: &Table, ac: &Table) -> Result<(), Damage> {
    walk_dc(bits, dc)?;
    walk_rest(bits, ac, 1)
}

/// Walks a block of a sequential scan from coefficient `at` to its end.
#[inline(always)]
fn walk_rest(bits: &mut Bits, ac: &Table, mut at: u32) -> Result<(), Damage> {
    let several: &[Steps; 1 << SEVERAL_BITS] = ac.several.first_chunk().ok_or(Damage::Corrupt)?;
    let mut loaded = bits.loaded;
    while at < 64 {
        if loaded.count < 32 {
            loaded = bits.source.refill(loaded);
        }
        let steps = several[(loaded.buffer >> (64 - SEVERAL_BITS)) as usize];
        let after = at + u32::from(steps.coefficients);
        // Steps beyond the block's end are no longer this block's; what is unusual is taken singly below.
        if steps.bits > 0 && u32::from(steps.bits) <= loaded.count && after + u32::from(steps.ends) <= 64 {
            loaded.skip(steps.bits.into());
            at = if steps.ends { 64 } else { after };
            continue;
        }
        bits.loaded = loaded;
        let symbol = ac.pass(bits, 15)?;
        loaded = bits.loaded;
        match symbol {
            0 => at = 64,
            // A run of sixteen zeros; other symbols without a size end the block too.
            0xf0 => at += 16,
            _ if symbol & 15 == 0 => at = 64,
            _ => at += u32::from(symbol >> 4) + 1,
        }
    }
    bits.loaded = loaded;
    if at == 64 { Ok(()) } else { Err(Damage::Corrupt) }
}

/// The coefficients of a block that make its picture at half the size: the first four of the first four rows, row by row, and
/// a last place for all the others.
pub type Low = [i32; 17];

/// The coefficients that have a place of their own in [`Low`], by that place: their numbers in zigzag order.
pub const NUMBERS: [u8; 16] = [0, 1, 5, 6, 2, 4, 7, 13, 3, 8, 12, 17, 9, 11, 18, 24];
/// Where each coefficient, in zigzag order, stands in [`Low`].
pub const LOW: [u8; 64] = {
    let mut places = [16; 64];
    let mut place = 0;
    while place < NUMBERS.len() {
        places[NUMBERS[place] as usize] = place as u8;
        place += 1;
    }
    places
};
/// The last of them, in zigzag order.
const LAST_LOW: usize = 24;

/// Reads one block of a sequential scan: hands coefficients, not yet dequantised, with their numbers in zigzag order to `take`, those that [`Low`]
/// needs among them; `ac` must be prepared to be read.
#[inline(never)]
pub fn read_block(bits: &mut Bits, dc: &Table, ac: &Table, predictor: &mut i32, mut take: impl FnMut(usize, i16)) -> Result<(), Damage> {
    take(0, read_dc(bits, dc, predictor)? as i16);
    let pairs: &[Pair; 1 << PAIR_BITS] = ac.pairs.first_chunk().ok_or(Damage::Corrupt)?;
    let mut loaded = bits.loaded;
    let mut at = 1;
    while at <= LAST_LOW {
        if loaded.count < 32 {
            loaded = bits.source.refill(loaded);
        }
        let pair = pairs[(loaded.buffer >> (64 - PAIR_BITS)) as usize];
        if pair.bits > 0 && u32::from(pair.bits) <= loaded.count {
            loaded.skip(pair.bits.into());
            if pair.passes[0] > 0 {
                // At most 24 and twice 16: within the block.
                let first = at + usize::from(pair.passes[0]);
                at = first + usize::from(pair.passes[1]);
                take(first - 1, pair.values[0]);
                take(at - 1, pair.values[1]);
            }
            if pair.ends {
                bits.loaded = loaded;
                return Ok(());
            }
        } else {
            bits.loaded = loaded;
            let symbol = ac.next(bits)?;
            let size = u32::from(symbol & 15);
            if size == 0 && symbol != 0xf0 {
                return Ok(());
            }
            at += usize::from(symbol >> 4) + 1;
            take(at - 1, signed(bits.take(size)?, size) as i16);
            loaded = bits.loaded;
        }
    }
    bits.loaded = loaded;
    walk_rest(bits, ac, at as u32)
}

/// The number that `size` bits behind a code stand for (T.81, F.2.2.1).
fn signed(bits: u32, size: u32) -> i32 {
    if size == 0 || bits >> (size - 1) == 1 { bits as i32 } else { bits as i32 - (1 << size) + 1 }
}

/// Walks the DC coefficient of one block on its first scan.
#[inline(always)]
pub fn walk_dc(bits: &mut Bits, dc: &Table) -> Result<(), Damage> {
    if dc.pass(bits, 31)? > 16 { Err(Damage::Corrupt) } else { Ok(()) }
}

/// Reads the mean of one block on its first scan, not yet dequantised.
#[inline(always)]
pub fn read_dc(bits: &mut Bits, dc: &Table, predictor: &mut i32) -> Result<i32, Damage> {
    let size = u32::from(dc.next(bits)?);
    if size > 16 {
        return Err(Damage::Corrupt);
    }
    *predictor = predictor.wrapping_add(signed(bits.take(size)?, size));
    Ok(*predictor)
}

/// Reads the bit that a refining scan adds to the mean of one block.
#[inline(always)]
pub fn refine_dc(bits: &mut Bits) -> Result<u32, Damage> {
    bits.take(1)
}

/// Walks the AC coefficients of one block of a progressive scan; `ac` must be prepared to be read. `nonzero` has a bit for each coefficient that an earlier
/// scan made other than zero; `skipped` counts the blocks still to come without codes; what is wanted of the coefficients goes to `coarse`.
#[inline(always)]
pub fn walk_ac(
    bits: &mut Bits,
    ac: &Table,
    band: Band,
    nonzero: &mut u64,
    skipped: &mut u32,
    mut coarse: Option<&mut Coarse>,
) -> Result<(), Damage> {
    let last = u32::from(band.last);
    let mut at = u32::from(band.first);
    while *skipped == 0 && at <= last {
        if bits.loaded.count < 32 {
            bits.refill();
        }
        let level = ac.levels.get((bits.loaded.buffer >> (64 - SEVERAL_BITS)) as usize).copied().unwrap_or_default();
        let (run, size, value) = if level.passes > 0 && u32::from(level.bits) <= bits.loaded.count {
            bits.skip(level.bits.into())?;
            (u32::from(level.passes) - 1, u32::from(level.value != 0), i32::from(level.value))
        } else {
            let symbol = ac.next(bits)?;
            let (run, size) = (u32::from(symbol >> 4), u32::from(symbol & 15));
            if size == 0 && run < 15 {
                *skipped = (1 << run) + bits.take(run)?;
                break;
            }
            (run, size, signed(bits.take(size)?, size))
        };
        if band.refines {
            // A run counts the zeros alone; each coefficient on the way that isn't zero has a bit of its own.
            let mut zeros = !*nonzero & (u64::MAX >> (63 - last)) & (u64::MAX << at);
            for _ in 0..run {
                zeros &= zeros.wrapping_sub(1);
            }
            let end = zeros.trailing_zeros();
            refine(
                bits,
                *nonzero & (u64::MAX << at) & !(u64::MAX.checked_shl(end).unwrap_or(0)) & (u64::MAX >> (63 - last)),
                band,
                &mut coarse,
            )?;
            at = end;
        } else {
            at += run;
        }
        if at > last {
            return Err(Damage::Corrupt);
        }
        if size > 0 {
            *nonzero |= 1 << at;
            if let (Some(coarse), place @ 0..16) = (&mut coarse, usize::from(LOW[at as usize])) {
                coarse[place] = (value << band.low) as i16;
            }
        }
        at += 1;
    }
    if *skipped > 0 {
        *skipped -= 1;
        if band.refines && at <= last {
            refine(bits, *nonzero & (u64::MAX << at) & (u64::MAX >> (63 - last)), band, &mut coarse)?;
        }
    }
    Ok(())
}

/// Takes one more bit of each of these coefficients, away from zero.
#[inline(always)]
fn refine(bits: &mut Bits, mut which: u64, band: Band, coarse: &mut Option<&mut Coarse>) -> Result<(), Damage> {
    while which != 0 {
        let count = which.count_ones().min(16);
        let taken = bits.take(count)?;
        for place in (0..count).rev() {
            let at = which.trailing_zeros();
            which &= which - 1;
            if let (1, Some(coarse), own @ 0..16) = (taken >> place & 1, &mut *coarse, usize::from(LOW[at as usize])) {
                let step = 1_i16.wrapping_shl(band.low.into());
                coarse[own] = coarse[own].wrapping_add(if coarse[own] < 0 { step.wrapping_neg() } else { step });
            }
        }
    }
    Ok(())
}
