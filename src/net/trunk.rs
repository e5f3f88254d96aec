//! The layers that a network begins with: convolutions and what stands between them.

use std::collections::HashMap;

use rten_onnx::onnx::{AttributeProto, DataType, GraphProto, NodeProto, TensorProto};
use rten_simd::float16::f16_to_f32;

use super::conv::{Conv, Geometry};
use super::maps::{Maps, Spare};

/// Small pictures go through all layers so many pixels at a time, which stay in the processor's cache.
const PIXELS: usize = 4096;

/// One layer after the other, from the network's input to the one value that the rest of it takes.
#[derive(Debug, Default)]
pub(super) struct Trunk {
    layers: Vec<Layer>,
}

/// What is done to values, which are numbered: 0 is the input, then each layer's own.
#[derive(Debug)]
struct Layer {
    work: Work,
    takes: Vec<usize>,
    /// Values that nobody needs any longer.
    last: Vec<usize>,
}

#[derive(Debug)]
enum Work {
    Conv(Box<Conv>),
    Shift(f32),
    Scale(f32),
    /// The sum of two values, and whether what is below zero becomes zero.
    Add(bool),
    Double,
}

impl Trunk {
    /// The trunk of a network, and the name of its value where more comes after it. `None` where the network doesn't begin with a trunk.
    pub(super) fn of<'graph>(graph: &'graph GraphProto) -> Option<(Self, Option<String>)> {
        let is_constant = |node: &&NodeProto| node.op_type.as_deref() == Some("Constant");
        let (constants, nodes): (Vec<&NodeProto>, Vec<&NodeProto>) = graph.node.iter().partition(is_constant);
        let stored = graph.initializer.iter().filter_map(|tensor| Some((tensor.name.as_deref()?, tensor)));
        let tensor = |node: &'graph NodeProto| node.attribute.iter().find_map(|attribute| attribute.t.as_ref());
        let constants = constants.into_iter().filter_map(|node| Some((node.output.first()?.as_str(), tensor(node)?)));
        let mut tensors: HashMap<&str, &TensorProto> = stored.chain(constants).collect();
        // Weights may be stored as halves, each with a cast to single precision.
        let weights = |node: &&NodeProto| {
            node.op_type.as_deref() == Some("Cast") && node.input.first().is_some_and(|input| tensors.contains_key(input.as_str()))
        };
        let (casts, nodes): (Vec<&NodeProto>, Vec<&NodeProto>) = nodes.into_iter().partition(weights);
        for cast in casts {
            tensors.insert(cast.output.first()?, tensors[cast.input[0].as_str()]);
        }
        let mut builder = Builder { tensors, names: HashMap::from([(graph.input.first()?.name.as_deref()?, 0)]), layers: Vec::new() };
        let outputs: Vec<&str> = graph.output.iter().filter_map(|output| output.name.as_deref()).collect();
        let uses = |name: &str, from: usize| {
            let later = nodes[from..].iter().flat_map(|node| &node.input).map(String::as_str);
            later.chain(outputs.iter().copied()).filter(|&used| used == name).count()
        };
        let end = (0..nodes.len()).find(|&n| builder.take(nodes[n], |name| uses(name, n)).is_none()).unwrap_or(nodes.len());
        // What the rest takes must be the last value alone.
        let mut open = builder.names.iter().filter(|(name, _)| uses(name, end) > 0);
        let (Some((&name, &value)), None) = (open.next(), open.next()) else { return None };
        if builder.layers.is_empty() || value != builder.layers.len() {
            return None;
        }
        Some((builder.finish(), (end < nodes.len()).then(|| name.to_owned())))
    }

    /// The trunk's value of `count` pictures, `[count, channels, height, width]`, with its shape; `None` where it doesn't take such pictures.
    pub(super) fn run(&self, count: usize, picture: [usize; 3], values: &[f32]) -> Option<([usize; 4], Vec<f32>)> {
        let [channels, height, width] = picture;
        let at_once = (PIXELS / (height * width).max(1)).max(1);
        let (mut shape, mut planes, mut spare) = (None, Vec::new(), Spare::default());
        for pictures in values.chunks((at_once * channels * height * width).max(1)) {
            let maps = self.layers(Maps::from_planes(picture, pictures, &mut spare), &mut spare)?;
            planes.extend(maps.planes());
            shape = Some([count, maps.channels, maps.height, maps.width]);
            spare.keep(maps);
        }
        Some((shape?, planes))
    }

    fn layers(&self, input: Maps, spare: &mut Spare) -> Option<Maps> {
        let mut values: Vec<Option<Maps>> = vec![None; self.layers.len() + 1];
        values[0] = Some(input);
        for (layer, at) in self.layers.iter().zip(1..) {
            let is_last = |value: usize| layer.last.contains(&value);
            let own =
                |values: &mut Vec<Option<Maps>>, value: usize| if is_last(value) { values[value].take() } else { values[value].clone() };
            let first = layer.takes[0];
            values[at] = Some(match &layer.work {
                Work::Conv(conv) => conv.run(values[first].as_ref()?, spare)?,
                Work::Double => values[first].as_ref()?.doubled(spare),
                Work::Shift(by) => each(own(&mut values, first)?, |value| value + by),
                Work::Scale(by) => each(own(&mut values, first)?, |value| value * by),
                Work::Add(floored) => {
                    let mut sum = own(&mut values, first)?;
                    let other = values[layer.takes[1]].as_ref().filter(|other| other.is_like(&sum))?;
                    let least = if *floored { 0.0 } else { f32::NEG_INFINITY };
                    sum.values.iter_mut().zip(&other.values).for_each(|(sum, other)| *sum = (*sum + other).max(least));
                    sum
                }
            });
            layer.last.iter().filter_map(|&value| values[value].take()).for_each(|maps| spare.keep(maps));
        }
        values.pop()?
    }
}

fn each(mut maps: Maps, change: impl Fn(f32) -> f32) -> Maps {
    maps.values.iter_mut().for_each(|value| *value = change(*value));
    maps
}

/// The trunk as far as it is known.
struct Builder<'graph> {
    /// Weights and constants by their names.
    tensors: HashMap<&'graph str, &'graph TensorProto>,
    /// The numbers of values.
    names: HashMap<&'graph str, usize>,
    layers: Vec<Layer>,
}

impl<'graph> Builder<'graph> {
    /// Makes a layer of the node; `None` where it belongs to no trunk. `uses` tells how often a value is used from this node on.
    fn take(&mut self, node: &'graph NodeProto, uses: impl Fn(&str) -> usize) -> Option<()> {
        let attributes = Attributes(&node.attribute);
        let (input, output) = (node.input.first()?.as_str(), node.output.first()?.as_str());
        let value = |input: &str| self.names.get(input).copied();
        let scalar = || self.floats(node.input.get(1)?).filter(|values| values.len() == 1).map(|values| values[0]);
        let first = value(input)?;
        let (work, takes) = match node.op_type.as_deref()? {
            // The input's last three axes are channels, rows and columns, and all others count pictures, however it is shaped.
            "Reshape" if first == 0 && self.layers.is_empty() => {
                self.names.insert(output, 0);
                return Some(());
            }
            "Relu" if first == self.layers.len() && uses(input) == 1 => {
                match &mut self.layers.last_mut()?.work {
                    Work::Conv(conv) => conv.floored = true,
                    Work::Add(floored) => *floored = true,
                    _ => return None,
                }
                self.names.remove(input);
                self.names.insert(output, first);
                return Some(());
            }
            "Sub" => (Work::Shift(-scalar()?), vec![first]),
            "Mul" => (Work::Scale(scalar()?), vec![first]),
            "Add" => (Work::Add(false), vec![first, value(node.input.get(1)?)?]),
            "Resize" => {
                let factors = node.input.get(2).and_then(|name| self.floats(name))?;
                let plain = attributes.text("mode") == Some("nearest")
                    && attributes.text("coordinate_transformation_mode") == Some("asymmetric")
                    && attributes.text("nearest_mode") == Some("floor");
                if !plain || factors != [1.0, 1.0, 2.0, 2.0] {
                    return None;
                }
                (Work::Double, vec![first])
            }
            "Conv" => (Work::Conv(Box::new(self.conv(node, &attributes)?)), vec![first]),
            _ => return None,
        };
        self.layers.push(Layer { work, takes, last: Vec::new() });
        self.names.insert(output, self.layers.len());
        Some(())
    }

    fn conv(&self, node: &NodeProto, attributes: &Attributes) -> Option<Conv> {
        let weights = self.tensors.get(node.input.get(1)?.as_str())?;
        let shape: Vec<usize> = weights.dims.iter().map(|&length| usize::try_from(length).ok()).collect::<Option<_>>()?;
        let &[outputs, seen, height, width] = shape.as_slice() else { return None };
        let groups = attributes.numbers("group").map_or(1, |groups: [usize; 1]| groups[0]);
        let apart = groups > 1;
        let geometry = Geometry {
            kernel: [height, width],
            strides: attributes.numbers("strides").unwrap_or([1; 2]),
            dilations: attributes.numbers("dilations").unwrap_or([1; 2]),
            border: attributes.numbers("pads").unwrap_or([0; 4]),
        };
        if apart && (groups != outputs || seen != 1) || attributes.text("auto_pad").is_some_and(|pad| pad != "NOTSET") {
            return None;
        }
        let inputs = if apart { outputs } else { seen };
        Conv::new(geometry, [outputs, inputs], apart, &floats(weights)?, &self.floats(node.input.get(2)?)?)
    }

    fn floats(&self, name: &str) -> Option<Vec<f32>> {
        floats(self.tensors.get(name)?)
    }

    fn finish(mut self) -> Trunk {
        let end = self.layers.len();
        for value in 0..end {
            let last = self.layers.iter().rposition(|layer| layer.takes.contains(&value));
            if let Some(layer) = last {
                self.layers[layer].last.push(value);
            }
        }
        Trunk { layers: self.layers }
    }
}

fn floats(tensor: &TensorProto) -> Option<Vec<f32>> {
    let bytes = tensor.raw_data.as_ref().map(|bytes| bytes.borrow());
    match (tensor.data_type?, bytes) {
        (DataType::FLOAT, Some(bytes)) => {
            Some(bytes.chunks_exact(4).map(|four| f32::from_le_bytes([four[0], four[1], four[2], four[3]])).collect())
        }
        (DataType::FLOAT, None) => Some(tensor.float_data.clone()),
        (DataType::FLOAT16, Some(bytes)) => {
            Some(bytes.chunks_exact(2).map(|two| f16_to_f32(u16::from_le_bytes([two[0], two[1]]))).collect())
        }
        _ => None,
    }
}

struct Attributes<'node>(&'node [AttributeProto]);

impl Attributes<'_> {
    fn get(&self, name: &str) -> Option<&AttributeProto> {
        self.0.iter().find(|attribute| attribute.name.as_deref() == Some(name))
    }

    fn text(&self, name: &str) -> Option<&str> {
        self.get(name)?.s.as_deref()
    }

    fn numbers<const N: usize>(&self, name: &str) -> Option<[usize; N]> {
        let attribute = self.get(name)?;
        let all = if attribute.ints.is_empty() { attribute.i.as_slice() } else { &attribute.ints };
        let numbers: Vec<usize> = all.iter().map(|&number| usize::try_from(number).ok()).collect::<Option<_>>()?;
        numbers.try_into().ok()
    }
}
