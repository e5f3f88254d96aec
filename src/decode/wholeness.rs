//! Tells whether a JPEG file is all there.
//!
//! Decoders fill what is missing with grey and say nothing, and the end marker alone proves little: a file
//! that was cut and closed again has one. So the entropy-coded data are walked code by code (ITU-T T.81):
//! they must hold as many blocks as the picture has, no more and no less, in every scan and restart
//! interval, and the scans together must bring every coefficient to its last bit.

use super::Damage;
use super::entropy::{Band, Bits, Coarse, LOW, Low, NUMBERS, Table, read_block, read_dc, refine_dc, walk_ac, walk_dc, walk_whole_block};
use super::halved::Plane;

/// What is wrong with the JPEG file in `bytes`, whose picture has `size` (width, height); `None` where it is whole, and for the rare kinds that can't
/// be judged (arithmetic coding, lossless), which the decoder refuses.
pub fn judge(bytes: &[u8], size: (u32, u32)) -> Option<Damage> {
    let size = (size.0 as usize, size.1 as usize);
    let mut file = File { bytes, at: 2, size, ..File::default() };
    loop {
        match file.take_segment() {
            Ok(Progress::More) => {}
            Ok(Progress::Whole | Progress::NotJudged) => return None,
            Err(damage) => return Some(damage),
        }
    }
}

/// The planes of the JPEG file in `bytes` at half their size, of a picture of `size` (width, height), read on the same walk; `None` where anything is wrong with
/// the file, or it is of another kind.
pub fn halved(bytes: &[u8], size: (u32, u32)) -> Option<Vec<Plane>> {
    let size = (size.0 as usize, size.1 as usize);
    let mut file = File { bytes, at: 2, size, reads: true, ..File::default() };
    loop {
        match file.take_segment() {
            Ok(Progress::More) => {}
            Ok(Progress::Whole) => return file.planes(),
            Ok(Progress::NotJudged) | Err(_) => return None,
        }
    }
}

enum Progress {
    More,
    Whole,
    NotJudged,
}

#[derive(Default)]
struct File<'bytes> {
    bytes: &'bytes [u8],
    at: usize,
    size: (usize, usize),
    progressive: bool,
    components: Vec<Component>,
    dc: [Option<Table>; 4],
    ac: [Option<Table>; 4],
    restart_interval: usize,
    /// Whether the picture is wanted, not only judged.
    reads: bool,
    /// The steps of each table's coefficients, placed as in [`Low`].
    steps: [Option<Low>; 4],
}

struct Component {
    id: u8,
    /// Its picture at half the size, where it is wanted.
    plane: Option<Plane>,
    table: usize,
    /// The mean of the last block, not yet dequantised.
    predictor: i32,
    across: usize,
    down: usize,
    /// Blocks in a row and rows of blocks, both as a scan of this component alone counts them.
    blocks: (usize, usize),
    /// One word for each block of whole MCUs: which coefficients aren't zero. Progressive files only.
    nonzero: Vec<u64>,
    /// Of each block what its picture at half the size takes. Progressive files of which that is wanted only.
    coarse: Vec<Coarse>,
    stride: usize,
    /// The lowest bit of each coefficient that some scan brought; 255 for none yet.
    lowest_bit: [u8; 64],
}

impl File<'_> {
    fn take_segment(&mut self) -> Result<Progress, Damage> {
        let marker = self.take_marker()?;
        match marker {
            0xd9 => {
                let complete = self.components.iter().all(|component| component.lowest_bit == [0; 64]);
                return if complete && !self.components.is_empty() { Ok(Progress::Whole) } else { Err(Damage::CutShort) };
            }
            0x01 | 0xd0..=0xd8 => return Ok(Progress::More),
            _ => {}
        }
        let length = self.bytes.get(self.at..).and_then(|rest| rest.first_chunk::<2>()).ok_or(Damage::CutShort)?;
        let length = usize::from(u16::from_be_bytes(*length));
        let body = self.bytes.get(self.at + 2..self.at + length.max(2)).ok_or(Damage::CutShort)?;
        self.at += length.max(2);
        match marker {
            0xc0..=0xc2 if self.reads && body.first() != Some(&8) => return Ok(Progress::NotJudged),
            0xc0..=0xc2 => self.take_frame(marker == 0xc2, body).ok_or(Damage::Corrupt)?,
            0xc4 => self.take_tables(body).ok_or(Damage::Corrupt)?,
            0xc3 | 0xc5..=0xcf | 0xdc => return Ok(Progress::NotJudged),
            0xdd => {
                let interval = body.first_chunk::<2>().ok_or(Damage::Corrupt)?;
                self.restart_interval = usize::from(u16::from_be_bytes(*interval));
            }
            0xdb if self.reads => self.take_steps(body).ok_or(Damage::Corrupt)?,
            0xda => self.walk_scan(body)?,
            _ => {}
        }
        Ok(Progress::More)
    }

    /// The planes of a file that was read to its end.
    fn planes(self) -> Option<Vec<Plane>> {
        let Self { components, steps, .. } = self;
        let plane = |component: Component| {
            let mut plane = component.plane?;
            let steps = steps.get(component.table)?.as_ref();
            for (row, coarse) in component.coarse.chunks(component.stride).enumerate() {
                for (column, coarse) in coarse.iter().enumerate() {
                    let mut block = plane.block(0, column);
                    coarse.iter().zip(NUMBERS).for_each(|(&value, number)| block.take(number.into(), value));
                }
                plane.draw(row, steps?);
            }
            Some(plane)
        };
        components.into_iter().map(plane).collect()
    }

    /// The code of the next marker; bytes before it are passed over.
    fn take_marker(&mut self) -> Result<u8, Damage> {
        let mut after_ff = false;
        for (offset, &byte) in self.bytes.get(self.at..).unwrap_or_default().iter().enumerate() {
            if after_ff && byte != 0xff && byte != 0 {
                self.at += offset + 1;
                return Ok(byte);
            }
            after_ff = byte == 0xff;
        }
        Err(Damage::CutShort)
    }

    fn take_frame(&mut self, progressive: bool, body: &[u8]) -> Option<()> {
        let [_, h1, h0, w1, w0, count, specification @ ..] = body else { return None };
        self.progressive = progressive;
        // A second frame header with another size must not make the walk take memory that nobody checked.
        let size = (usize::from(u16::from_be_bytes([*w1, *w0])), usize::from(u16::from_be_bytes([*h1, *h0])));
        let factors: Vec<_> = specification.chunks_exact(3).map(|c| (c[0], usize::from(c[1] >> 4), usize::from(c[1] & 15), c[2])).collect();
        let in_range = factors.iter().all(|&(_, across, down, table)| (1..=4).contains(&across) && (1..=4).contains(&down) && table < 4);
        if factors.len() != usize::from(*count)
            || factors.is_empty()
            || factors.len() > 4
            || !in_range
            || !self.components.is_empty()
            || size != self.size
        {
            return None;
        }
        let most_across = factors.iter().map(|f| f.1).max()?;
        let most_down = factors.iter().map(|f| f.2).max()?;
        let mcus = (self.size.0.div_ceil(8 * most_across), self.size.1.div_ceil(8 * most_down));
        self.components = factors
            .into_iter()
            .map(|(id, across, down, table)| Component {
                id,
                plane: self.reads.then(|| {
                    let half = |size: usize, factor: usize, most: usize| (size * factor).div_ceil(2 * most);
                    let size = (half(self.size.0, across, most_across), half(self.size.1, down, most_down));
                    Plane::new((mcus.0 * across, mcus.1 * down), size, if progressive { 1 } else { down })
                }),
                table: table.into(),
                predictor: 0,
                across,
                down,
                blocks: ((self.size.0 * across).div_ceil(8 * most_across), (self.size.1 * down).div_ceil(8 * most_down)),
                nonzero: vec![0; if progressive { mcus.0 * across * mcus.1 * down } else { 0 }],
                coarse: vec![[0; 16]; if progressive && self.reads { mcus.0 * across * mcus.1 * down } else { 0 }],
                stride: mcus.0 * across,
                lowest_bit: [255; 64],
            })
            .collect();
        Some(())
    }

    fn take_tables(&mut self, mut body: &[u8]) -> Option<()> {
        while let Some((&head, rest)) = body.split_first() {
            let (counts, rest) = rest.split_first_chunk::<16>()?;
            let total = counts.iter().map(|&count| usize::from(count)).sum();
            let (symbols, rest) = rest.split_at_checked(total)?;
            let place = if head >> 4 == 0 { &mut self.dc } else { &mut self.ac };
            *place.get_mut(usize::from(head & 15))? = Some(Table::new(counts, symbols)?);
            body = rest;
        }
        Some(())
    }

    /// The tables of a DQT segment.
    fn take_steps(&mut self, mut body: &[u8]) -> Option<()> {
        while let Some((&head, rest)) = body.split_first() {
            let wide = usize::from(head >> 4).min(1) + 1;
            let (values, rest) = rest.split_at_checked(64 * wide)?;
            let steps = self.steps.get_mut(usize::from(head & 15))?.insert([0; 17]);
            for (value, place) in values.chunks_exact(wide).zip(LOW) {
                steps[usize::from(place)] = value.iter().fold(0, |number, &byte| number << 8 | i32::from(byte));
            }
            body = rest;
        }
        Some(())
    }

    fn walk_scan(&mut self, body: &[u8]) -> Result<(), Damage> {
        let scan = self.read_scan_header(body).ok_or(Damage::Corrupt)?;
        // A component alone is stored block by block, several together MCU by MCU.
        let (across, down) = match scan.parts[..] {
            [part] => self.components[part.component].blocks,
            _ => {
                let first = &self.components[scan.parts[0].component];
                (first.stride / first.across, first.blocks.1.div_ceil(first.down))
            }
        };
        let alone = scan.parts.len() == 1;
        self.components.iter_mut().for_each(|component| component.predictor = 0);
        if self.progressive {
            self.ac.iter_mut().flatten().for_each(Table::prepare_levels);
        } else {
            let prepare = if self.reads { Table::prepare_to_read } else { Table::prepare };
            self.ac.iter_mut().flatten().for_each(prepare);
        }
        let mut bits = Bits::new(self.bytes, self.at);
        let mut skipped = 0;
        // The place of the unit: dividing for each block takes as long as a few codes.
        let (mut row, mut column) = (0, 0);
        for unit in 0..across * down {
            if self.restart_interval > 0 && unit > 0 && unit % self.restart_interval == 0 {
                let at = bits.finish()?;
                let expected = 0xd0 + ((unit / self.restart_interval - 1) % 8) as u8;
                let fill = self.bytes[at..].iter().take_while(|&&byte| byte == 0xff).count();
                match self.bytes.get(at + fill) {
                    Some(&marker) if marker == expected => bits = Bits::new(self.bytes, at + fill + 1),
                    None | Some(0xd9) => return Err(Damage::CutShort),
                    Some(_) => return Err(Damage::Corrupt),
                }
                skipped = 0;
                self.components.iter_mut().for_each(|component| component.predictor = 0);
            }
            for part in &scan.parts {
                let component = &mut self.components[part.component];
                let (blocks_across, blocks_down) = if alone { (1, 1) } else { (component.across, component.down) };
                for block in 0..blocks_across * blocks_down {
                    let dc = self.dc[part.dc].as_ref();
                    let ac = self.ac[part.ac].as_ref();
                    if self.progressive {
                        let place =
                            (row * blocks_down + block / blocks_across) * component.stride + column * blocks_across + block % blocks_across;
                        let mut coarse = component.coarse.get_mut(place);
                        if scan.band.first > 0 {
                            let nonzero = component.nonzero.get_mut(place).ok_or(Damage::Corrupt)?;
                            walk_ac(&mut bits, ac.ok_or(Damage::Corrupt)?, scan.band, nonzero, &mut skipped, coarse)?;
                        } else if scan.band.refines {
                            let bit = refine_dc(&mut bits)?;
                            coarse.iter_mut().for_each(|coarse| coarse[0] |= (bit << scan.band.low) as i16);
                        } else if let Some(coarse) = coarse {
                            coarse[0] = (read_dc(&mut bits, dc.ok_or(Damage::Corrupt)?, &mut component.predictor)? << scan.band.low) as i16;
                        } else {
                            walk_dc(&mut bits, dc.ok_or(Damage::Corrupt)?)?;
                        }
                    } else if let Some(plane) = &mut component.plane {
                        let (dc, ac) = (dc.ok_or(Damage::Corrupt)?, ac.ok_or(Damage::Corrupt)?);
                        let mut block = plane.block(block / blocks_across, column * blocks_across + block % blocks_across);
                        read_block(&mut bits, dc, ac, &mut component.predictor, |number, value| block.take(number, value))?;
                    } else {
                        walk_whole_block(&mut bits, dc.ok_or(Damage::Corrupt)?, ac.ok_or(Damage::Corrupt)?)?;
                    }
                }
            }
            column += 1;
            if column == across {
                for part in scan.parts.iter().filter(|_| !self.progressive) {
                    let component = &mut self.components[part.component];
                    let rows = if alone { 1 } else { component.down };
                    if let Some(plane) = &mut component.plane {
                        plane.draw(row * rows, self.steps[component.table].as_ref().ok_or(Damage::Corrupt)?);
                    }
                }
                (row, column) = (row + 1, 0);
            }
        }
        self.at = bits.finish()?;
        Ok(())
    }

    /// The scan header, entered into each component's account of what was brought.
    fn read_scan_header(&mut self, body: &[u8]) -> Option<Scan> {
        let (&count, rest) = body.split_first()?;
        let (specification, [first, last, bits]) = rest.split_at_checked(2 * usize::from(count))? else { return None };
        let (first, last) = if self.progressive { (*first, *last) } else { (0, 63) };
        let (before, low) = if self.progressive { (bits >> 4, bits & 15) } else { (0, 0) };
        let in_range = first <= last && last < 64 && (!self.progressive || (first == 0) == (last == 0));
        if !in_range || (first > 0 && count != 1) || (self.progressive && before > 0 && before != low + 1) {
            return None;
        }
        let parts = specification
            .chunks_exact(2)
            .map(|pair| {
                let component = self.components.iter().position(|component| component.id == pair[0])?;
                let part = Part { component, dc: usize::from(pair[1] >> 4), ac: usize::from(pair[1] & 15) };
                let account = &mut self.components[component].lowest_bit[usize::from(first)..=usize::from(last)];
                let expected = if before > 0 { before } else { 255 };
                let in_turn = account.iter().all(|&bit| bit == expected);
                account.fill(low);
                (in_turn && part.dc < 4 && part.ac < 4).then_some(part)
            })
            .collect::<Option<Vec<_>>>()?;
        (!parts.is_empty()).then_some(Scan { parts, band: Band { first, last, refines: before > 0, low } })
    }
}

struct Scan {
    parts: Vec<Part>,
    band: Band,
}

#[derive(Clone, Copy)]
struct Part {
    component: usize,
    dc: usize,
    ac: usize,
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{RgbImage, codecs::jpeg::JpegEncoder};
    use proptest::prelude::*;

    /// Three ways of coding a picture of 61 x 47 pixels: by rows, with restart markers, and progressive.
    /// `scripts/pages/odd_files.py` makes the last two.
    fn files() -> [(&'static str, Vec<u8>); 3] {
        let picture = RgbImage::from_fn(61, 47, |x, y| image::Rgb([(x * 4) as u8, (x * y) as u8, (y * 5) as u8]));
        let mut plain = Vec::new();
        JpegEncoder::new_with_quality(&mut plain, 90).encode_image(&picture).expect("memory takes it");
        let restarts = include_bytes!("../../tests/data/restarts.jpg").to_vec();
        let progressive = include_bytes!("../../tests/data/progressive.jpg").to_vec();
        [("plain", plain), ("restarts", restarts), ("progressive", progressive)]
    }

    #[test]
    fn whole_files_pass() {
        for (name, file) in files() {
            assert_eq!(judge(&file, (61, 47)), None, "{name}");
        }
    }

    #[test]
    fn a_file_cut_anywhere_is_cut_short() {
        for (name, file) in files() {
            for end in 2..file.len() {
                assert_eq!(judge(&file[..end], (61, 47)), Some(Damage::CutShort), "{name} cut to {end} of {} bytes", file.len());
            }
        }
    }

    #[test]
    fn a_file_cut_and_closed_again_is_noticed() {
        for (name, file) in files() {
            // Before the last few bytes, cutting can only take padding.
            for end in 700..file.len() - 6 {
                let closed = [&file[..end], &[0xff, 0xd9]].concat();
                assert!(judge(&closed, (61, 47)).is_some(), "{name} cut to {end} of {} bytes and closed", file.len());
            }
        }
    }

    proptest! {
        #[test]
        fn any_bytes_are_judged(which in 0..3_usize, changes in prop::collection::vec((0..4000_usize, any::<u8>()), 1..20)) {
            let (_, mut file) = files()[which].clone();
            for (place, value) in changes {
                let place = 2 + place % (file.len() - 2);
                file[place] = value;
            }
            let _ = judge(&file, (61, 47));
        }
    }
}
