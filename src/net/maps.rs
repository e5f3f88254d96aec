//! Pictures of several channels, as they pass from layer to layer.

use std::ops::Range;

/// `count` pictures of `height` by `width` pixels, one behind the other, each row by row, a pixel's channels side by side.
#[derive(Clone, Debug)]
pub(super) struct Maps {
    pub(super) count: usize,
    pub(super) height: usize,
    pub(super) width: usize,
    pub(super) channels: usize,
    /// Values from pixel to pixel: the channels, and what fills the last vector of them up.
    pub(super) stride: usize,
    pub(super) values: Vec<f32>,
}

/// Memory of maps that nobody needs any longer, for the next ones: to ask for it anew and to clear it took as long as a tenth of what is reckoned in it.
#[derive(Debug, Default)]
pub(super) struct Spare(Vec<Vec<f32>>);

impl Spare {
    /// So many values, whatever they are.
    fn take(&mut self, count: usize) -> Vec<f32> {
        // The least that is large enough, or else the largest.
        let rank = |values: &Vec<f32>| (values.capacity() < count, values.capacity().abs_diff(count));
        let best = (0..self.0.len()).min_by_key(|&n| rank(&self.0[n]));
        let mut values = best.map_or_else(Vec::new, |best| self.0.swap_remove(best));
        values.resize(count, 0.0);
        values
    }

    pub(super) fn keep(&mut self, maps: Maps) {
        self.0.push(maps.values);
    }
}

impl Maps {
    /// Their values are yet to be set.
    pub(super) fn new([count, height, width]: [usize; 3], channels: usize, stride: usize, spare: &mut Spare) -> Self {
        Self { count, height, width, channels, stride, values: spare.take(count * height * width * stride) }
    }

    /// From whole pictures that lie channel by channel, each `[channels, height, width]`.
    pub(super) fn from_planes([channels, height, width]: [usize; 3], planes: &[f32], spare: &mut Spare) -> Self {
        let area = (height * width).max(1);
        let mut maps = Self::new([planes.len() / (area * channels).max(1), height, width], channels, channels, spare);
        for (pixels, planes) in maps.values.chunks_exact_mut((area * channels).max(1)).zip(planes.chunks_exact((area * channels).max(1))) {
            for (channel, plane) in planes.chunks_exact(area).enumerate() {
                pixels[channel..].iter_mut().step_by(channels).zip(plane).for_each(|(to, from)| *to = *from);
            }
        }
        maps
    }

    /// The values channel by channel, `[count, channels, height, width]`.
    pub(super) fn planes(&self) -> Vec<f32> {
        let area = self.height * self.width;
        let mut planes = Vec::with_capacity(self.count * self.channels * area);
        for picture in self.values.chunks_exact((area * self.stride).max(1)) {
            for channel in 0..self.channels {
                planes.extend(picture[channel..].iter().step_by(self.stride));
            }
        }
        planes
    }

    /// Some rows of each picture with a border of zeros around it, so many pixels wide: above, left, below, right.
    pub(super) fn bordered(&self, rows: Range<usize>, [top, left, _, right]: [usize; 4], spare: &mut Spare) -> Self {
        let width = self.width + left + right;
        let mut wide = Self::new([self.count, rows.len(), width], self.channels, self.stride, spare);
        let row = self.width * self.stride;
        let all = (0..self.count).flat_map(|picture| rows.clone().map(move |y| (picture, y)));
        for ((picture, y), wide) in all.zip(wide.values.chunks_exact_mut((width * self.stride).max(1))) {
            if (top..top + self.height).contains(&y) {
                let (before, rest) = wide.split_at_mut(left * self.stride);
                let (inside, after) = rest.split_at_mut(row);
                before.fill(0.0);
                inside.copy_from_slice(&self.values[(picture * self.height + y - top) * row..][..row]);
                after.fill(0.0);
            } else {
                wide.fill(0.0);
            }
        }
        wide
    }

    /// Each pixel four times: twice as high and wide.
    pub(super) fn doubled(&self, spare: &mut Spare) -> Self {
        let mut double = Self::new([self.count, 2 * self.height, 2 * self.width], self.channels, self.stride, spare);
        let row = self.width * self.stride;
        for (from, to) in self.values.chunks_exact(row.max(1)).zip(double.values.chunks_exact_mut((4 * row).max(1))) {
            let (upper, lower) = to.split_at_mut(2 * row);
            for (from, to) in from.chunks_exact(self.stride).zip(upper.chunks_exact_mut(2 * self.stride)) {
                to[..self.stride].copy_from_slice(from);
                to[self.stride..].copy_from_slice(from);
            }
            lower.copy_from_slice(upper);
        }
        double
    }

    /// Whether both have the same size and as many channels.
    pub(super) fn is_like(&self, other: &Self) -> bool {
        let shape = |maps: &Self| (maps.count, maps.height, maps.width, maps.channels, maps.stride);
        shape(self) == shape(other)
    }
}
