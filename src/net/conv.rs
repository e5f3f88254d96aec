//! Convolutions of [`Maps`], with the widest vectors that the processor has.
//!
//! A vector holds neighbouring output channels of one pixel. Sums of several pixels and vectors stay in the processor's registers while the inputs and
//! weights pass by, which lie in memory in the order in which they are needed: nothing is gathered into matrices first.

use rten_simd::ops::{BitOps, NumOps};
use rten_simd::{Isa, SimdOp};

use super::maps::{Maps, Spare};

/// How a convolution moves over its input.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Geometry {
    /// Height and width of the kernel.
    pub(super) kernel: [usize; 2],
    /// Steps down and right.
    pub(super) strides: [usize; 2],
    /// From one place of the kernel to the next, down and right.
    pub(super) dilations: [usize; 2],
    /// Zeros above, left, below, right.
    pub(super) border: [usize; 4],
}

/// A convolution over all input channels, or of each channel by itself.
#[derive(Debug)]
pub(super) struct Conv {
    geometry: Geometry,
    inputs: usize,
    outputs: usize,
    /// Whether each output channel sees its own input channel alone.
    apart: bool,
    /// As the kernels below read them: group of vectors, place, input channel, lane.
    weights: Vec<f32>,
    bias: Vec<f32>,
    /// Whether what is below zero becomes zero.
    pub(super) floored: bool,
}

/// Vectors of which sums are made together, at most.
const GROUP: usize = 3;

/// So many vectors in groups as even as can be: the first of each, and how many they are.
fn groups(vectors: usize, most: usize) -> impl Iterator<Item = (usize, usize)> {
    let count = vectors.div_ceil(most);
    let start = move |group: usize| group * vectors / count;
    (0..count).map(move |group| (start(group), start(group + 1) - start(group)))
}

/// Values that are convolved at once, about: a quarter of a small second-level cache.
const AT_ONCE: usize = 32_768;

impl Conv {
    /// From weights `[outputs, inputs or 1, kernel height, kernel width]`. `None` where their number isn't that.
    pub(super) fn new(geometry: Geometry, [outputs, inputs]: [usize; 2], apart: bool, weights: &[f32], bias: &[f32]) -> Option<Self> {
        let lanes = lanes();
        let places = geometry.kernel[0] * geometry.kernel[1];
        let seen = if apart { 1 } else { inputs };
        if weights.len() != outputs * seen * places || bias.len() != outputs || weights.is_empty() || apart && inputs != outputs {
            return None;
        }
        let vectors = outputs.div_ceil(lanes);
        let mut ordered = Vec::with_capacity(vectors * lanes * places * seen);
        for (first, count) in groups(vectors, if apart { 1 } else { GROUP }) {
            let channels = first * lanes..(first + count) * lanes;
            for (place, input) in (0..places).flat_map(|place| (0..seen).map(move |input| (place, input))) {
                let weight = |output: usize| weights.get((output * seen + input) * places + place).copied();
                ordered.extend(channels.clone().map(|output| weight(output).unwrap_or(0.0)));
            }
        }
        let mut bias = bias.to_vec();
        bias.resize(vectors * lanes, 0.0);
        Some(Self { geometry, inputs, outputs, apart, weights: ordered, bias, floored: false })
    }

    /// The convolution of `input`; `None` where it has other channels, or is smaller than the kernel.
    pub(super) fn run(&self, input: &Maps, spare: &mut Spare) -> Option<Maps> {
        let Geometry { kernel, strides, dilations, border } = self.geometry;
        let reach = [0, 1].map(|axis| (kernel[axis] - 1) * dilations[axis]);
        let size =
            |axis: usize, length: usize| Some((length + border[axis] + border[axis + 2]).checked_sub(reach[axis] + 1)? / strides[axis] + 1);
        let (height, width) = (size(0, input.height)?, size(1, input.width)?);
        if input.channels != self.inputs || self.apart && input.stride != self.bias.len() {
            return None;
        }
        let mut output = Maps::new([input.count, height, width], self.outputs, self.bias.len(), spare);
        if border == [0; 4] {
            self.convolve(input, (height, width), &mut output.values);
            return Some(output);
        }
        // The border is put around some rows after the other, which stay in the processor's cache.
        let row = (border[1] + input.width + border[3]) * input.stride * strides[0];
        let at_once = if input.count > 1 { height } else { (AT_ONCE / row.max(1)).clamp(1, height) };
        for (part, output) in output.values.chunks_mut((input.count * at_once * width * self.bias.len()).max(1)).enumerate() {
            let rows = at_once.min(height - part * at_once);
            let first = part * at_once * strides[0];
            let bordered = input.bordered(first..first + (rows - 1) * strides[0] + reach[0] + 1, border, spare);
            self.convolve(&bordered, (rows, width), output);
            spare.keep(bordered);
        }
        Some(output)
    }

    /// So many rows and columns of the convolution, without a border.
    fn convolve(&self, input: &Maps, (height, width): (usize, usize), output: &mut [f32]) {
        let Geometry { kernel, strides, dilations, .. } = self.geometry;
        let at = |row: usize, column: usize| (row * input.width + column) * input.stride;
        let mut starts = Vec::with_capacity(input.count * height * width);
        for row in (0..input.count).flat_map(|n| (0..height).map(move |y| n * input.height + y * strides[0])) {
            starts.extend((0..width).map(|x| at(row, x * strides[1])));
        }
        // Places side by side are one run, where nothing lies between them.
        let joined = !self.apart && dilations[1] == 1 && input.stride == input.channels;
        let (across, run) = if joined { (1, kernel[1] * input.channels) } else { (kernel[1], input.channels) };
        let places: Vec<usize> = (0..kernel[0]).flat_map(|y| (0..across).map(move |x| at(y * dilations[0], x * dilations[1]))).collect();
        Work { conv: self, input: &input.values, starts: &starts, places: &places, run, output }.dispatch();
    }
}

/// Values in one vector of this processor.
fn lanes() -> usize {
    struct Lanes;
    impl SimdOp for Lanes {
        type Output = usize;
        fn eval<I: Isa>(self, isa: I) -> usize {
            isa.f32().len()
        }
    }
    Lanes.dispatch()
}

/// One convolution to be done.
struct Work<'a> {
    conv: &'a Conv,
    input: &'a [f32],
    /// Where each output pixel's kernel begins in the input.
    starts: &'a [usize],
    /// Where each run of inputs lies from there.
    places: &'a [usize],
    /// How long a run is.
    run: usize,
    output: &'a mut [f32],
}

impl SimdOp for Work<'_> {
    type Output = ();

    #[inline(always)]
    fn eval<I: Isa>(mut self, isa: I) {
        let lanes = isa.f32().len();
        let vectors = self.conv.bias.len() / lanes;
        if self.conv.apart {
            (0..vectors).for_each(|vector| self.each_apart::<I, 8>(isa, vector));
            return;
        }
        for (first, count) in groups(vectors, GROUP) {
            // More registers, more sums.
            match (count, lanes) {
                (1, 16..) => self.all::<I, 8, 1>(isa, first),
                (2, 16..) => self.all::<I, 8, 2>(isa, first),
                (_, 16..) => self.all::<I, 8, GROUP>(isa, first),
                (1, _) => self.all::<I, 4, 1>(isa, first),
                (2, _) => self.all::<I, 4, 2>(isa, first),
                _ => self.all::<I, 4, GROUP>(isa, first),
            }
        }
    }
}

impl Work<'_> {
    /// `VECTORS` vectors of output channels from `first`, `PIXELS` pixels at a time.
    #[inline(always)]
    fn all<I: Isa, const PIXELS: usize, const VECTORS: usize>(&mut self, isa: I, first: usize) {
        let ops = isa.f32();
        let lanes = ops.len();
        let stride = self.conv.bias.len();
        let step = VECTORS * lanes;
        let each = self.conv.weights.len() / stride;
        let weights = &self.conv.weights[first * lanes * each..][..step * each];
        let bias: [I::F32; VECTORS] = ops.load_many(&self.conv.bias[first * lanes..]);
        for (tile, starts) in self.starts.chunks(PIXELS).enumerate() {
            // The last tile's missing pixels are its last one again.
            let mut pixels = [starts[starts.len() - 1]; PIXELS];
            pixels[..starts.len()].copy_from_slice(starts);
            let mut sums = [bias; PIXELS];
            for (&place, weights) in self.places.iter().zip(weights.chunks_exact(self.run * step)) {
                let mut runs: [&[f32]; PIXELS] = [&[]; PIXELS];
                for pixel in 0..PIXELS {
                    runs[pixel] = &self.input[pixels[pixel] + place..][..self.run];
                }
                for (i, weights) in (0..self.run).zip(weights.chunks_exact(step)) {
                    let weights: [I::F32; VECTORS] = ops.load_many(weights);
                    for pixel in 0..PIXELS {
                        let value = ops.splat(runs[pixel][i]);
                        for vector in 0..VECTORS {
                            sums[pixel][vector] = ops.mul_add(value, weights[vector], sums[pixel][vector]);
                        }
                    }
                }
            }
            for (sums, output) in sums.iter().zip(self.output.chunks_exact_mut(stride).skip(tile * PIXELS)).take(starts.len()) {
                for (&sum, output) in sums.iter().zip(output[first * lanes..].chunks_exact_mut(lanes)) {
                    ops.store(if self.conv.floored { ops.max(sum, ops.zero()) } else { sum }, output);
                }
            }
        }
    }

    /// A vector of channels, each by itself, `PIXELS` pixels at a time.
    #[inline(always)]
    fn each_apart<I: Isa, const PIXELS: usize>(&mut self, isa: I, vector: usize) {
        let ops = isa.f32();
        let lanes = ops.len();
        let stride = self.conv.bias.len();
        let first = vector * lanes;
        let weights = &self.conv.weights[first * self.places.len()..][..self.places.len() * lanes];
        let bias = ops.load(&self.conv.bias[first..]);
        for (tile, starts) in self.starts.chunks(PIXELS).enumerate() {
            let mut pixels = [starts[starts.len() - 1]; PIXELS];
            pixels[..starts.len()].copy_from_slice(starts);
            let mut sums = [bias; PIXELS];
            for (&place, weights) in self.places.iter().zip(weights.chunks_exact(lanes)) {
                let weights = ops.load(weights);
                for pixel in 0..PIXELS {
                    let values = ops.load(&self.input[pixels[pixel] + place + first..][..lanes]);
                    sums[pixel] = ops.mul_add(values, weights, sums[pixel]);
                }
            }
            for (&sum, output) in sums.iter().zip(self.output.chunks_exact_mut(stride).skip(tile * PIXELS)).take(starts.len()) {
                ops.store(if self.conv.floored { ops.max(sum, ops.zero()) } else { sum }, &mut output[first..]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// The convolution as ONNX defines it, of values `[count, channels, height, width]`.
    fn plainly(geometry: Geometry, outputs: usize, apart: bool, weights: &[f32], bias: &[f32], input: &[Vec<Vec<Vec<f32>>>]) -> Vec<f32> {
        let Geometry { kernel, strides, dilations, border } = geometry;
        let (inputs, height, width) = (input[0].len(), input[0][0].len(), input[0][0][0].len());
        let size = |axis: usize, length: usize| (length - (kernel[axis] - 1) * dilations[axis] - 1) / strides[axis] + 1;
        let (down, across) = (size(0, height + border[0] + border[2]), size(1, width + border[1] + border[3]));
        let mut sums = Vec::new();
        for picture in input {
            for (output, y, x) in (0..outputs).flat_map(|o| (0..down).flat_map(move |y| (0..across).map(move |x| (o, y, x)))) {
                let mut sum = bias[output];
                let seen = if apart { output..output + 1 } else { 0..inputs };
                for (i, channel) in seen.clone().enumerate() {
                    for (ky, kx) in (0..kernel[0]).flat_map(|ky| (0..kernel[1]).map(move |kx| (ky, kx))) {
                        let row = (y * strides[0] + ky * dilations[0]).checked_sub(border[0]);
                        let column = (x * strides[1] + kx * dilations[1]).checked_sub(border[1]);
                        let value = row.zip(column).and_then(|(row, column)| picture[channel].get(row)?.get(column));
                        sum += value.unwrap_or(&0.0) * weights[((output * seen.len() + i) * kernel[0] + ky) * kernel[1] + kx];
                    }
                }
                sums.push(sum);
            }
        }
        sums
    }

    proptest! {
        #[test]
        fn convolutions_are_as_defined(
            kernel in prop::array::uniform2(1..6_usize),
            strides in prop::array::uniform2(1..3_usize),
            dilations in prop::array::uniform2(1..4_usize),
            border in prop::array::uniform4(0..5_usize),
            (count, inputs, outputs) in (1..4_usize, 1..40_usize, 1..90_usize),
            (height, width) in (1..14_usize, 1..14_usize),
            apart: bool,
            floored: bool,
        ) {
            let inputs = if apart { outputs } else { inputs };
            let geometry = Geometry { kernel, strides, dilations, border };
            let seen = if apart { 1 } else { inputs };
            // Whole numbers: sums are exact in any order.
            let number = |n: usize| (n * 7919 % 17) as f32 - 8.0;
            let weights: Vec<f32> = (0..outputs * seen * kernel[0] * kernel[1]).map(number).collect();
            let bias: Vec<f32> = (0..outputs).map(number).collect();
            let mut conv = Conv::new(geometry, [outputs, inputs], apart, &weights, &bias).expect("as many weights as the shape says");
            conv.floored = floored;
            let planes: Vec<f32> = (0..count * inputs * height * width).map(|n| number(n / 3)).collect();
            let mut spare = Spare::default();
            let maps = Maps::from_planes([inputs, height, width], &planes, &mut spare);
            // Channels that are seen apart lie in whole vectors, as another convolution leaves them.
            let mut input = Maps::new([count, height, width], inputs, inputs.next_multiple_of(lanes()), &mut spare);
            for (to, from) in input.values.chunks_exact_mut(input.stride).zip(maps.values.chunks_exact(inputs)) {
                to.fill(f32::NAN);
                to[..inputs].copy_from_slice(from);
            }
            let fits = (0..2).all(|axis| [height, width][axis] + border[axis] + border[axis + 2] > (kernel[axis] - 1) * dilations[axis]);
            // What lies in memory from before must not matter.
            let mut used = Maps::new([count, 2 * height + 8, 2 * width + 8], outputs, 128, &mut spare);
            used.values.fill(f32::NAN);
            spare.keep(used);
            let output = conv.run(&input, &mut spare);
            prop_assert_eq!(output.is_some(), fits);
            if let Some(output) = output {
                let mut rest = planes.iter().copied();
                let input: Vec<Vec<Vec<Vec<f32>>>> = (0..count)
                    .map(|_| (0..inputs).map(|_| (0..height).map(|_| rest.by_ref().take(width).collect()).collect()).collect())
                    .collect();
                let expected = plainly(geometry, outputs, apart, &weights, &bias, &input);
                let expected: Vec<f32> = expected.into_iter().map(|sum| if floored { sum.max(0.0) } else { sum }).collect();
                prop_assert_eq!(output.planes(), expected.clone());
                // Channels side by side without gaps are read in longer runs.
                if !apart {
                    prop_assert_eq!(conv.run(&maps, &mut spare).expect("it fits").planes(), expected);
                }
            }
        }
    }
}
