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

impl Maps {
    pub(super) fn new([count, height, width]: [usize; 3], channels: usize, stride: usize) -> Self {
        Self { count, height, width, channels, stride, values: vec![0.0; count * height * width * stride] }
    }

    /// From whole pictures that lie channel by channel, each `[channels, height, width]`.
    pub(super) fn from_planes([channels, height, width]: [usize; 3], planes: &[f32]) -> Self {
        let area = (height * width).max(1);
        let mut maps = Self::new([planes.len() / (area * channels).max(1), height, width], channels, channels);
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
    pub(super) fn bordered(&self, rows: Range<usize>, [top, left, _, right]: [usize; 4]) -> Self {
        let width = self.width + left + right;
        let mut wide = Self::new([self.count, rows.len(), width], self.channels, self.stride);
        let row = self.width * self.stride;
        for picture in 0..self.count {
            // Those that aren't all border.
            for y in rows.start.max(top)..rows.end.min(top + self.height) {
                let first = ((picture * rows.len() + y - rows.start) * width + left) * self.stride;
                wide.values[first..][..row].copy_from_slice(&self.values[(picture * self.height + y - top) * row..][..row]);
            }
        }
        wide
    }

    /// Each pixel four times: twice as high and wide.
    pub(super) fn doubled(&self) -> Self {
        let mut double = Self::new([self.count, 2 * self.height, 2 * self.width], self.channels, self.stride);
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
