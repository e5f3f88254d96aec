//! Loads the bundled weights and runs the forward pass: arrays in, scores out, knowing no puzzle.
//!
//! The weights are part of the program (`models/*.onnx`); a test holds them against `models/checksums.txt`, and another one holds
//! what comes out against a second runtime.

mod conv;
mod maps;
mod trunk;

use std::cell::RefCell;
use std::error::Error;
use std::panic::resume_unwind;
use std::sync::{Arc, Weak};
use std::thread;

use ndarray::{ArrayD, ArrayViewD, IxDyn};
use rten::{Model, ModelOptions, NodeId, RunOptions, ThreadPool, Value};
use rten_onnx::onnx::{GraphProto, ModelProto};
use rten_tensor::Tensor;
use rten_tensor::prelude::*;

use trunk::Trunk;

/// Why a network could not be loaded or run.
#[derive(Clone, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum NetError {
    /// The bytes are no network that can be run here.
    #[error("the weights can't be used: {0}")]
    Weights(String),
    /// The forward pass failed.
    #[error("the network failed: {0}")]
    Run(String),
}

/// A network, ready to run on inputs of any size that it takes.
pub struct Network {
    input_width: Option<usize>,
    trunk: Trunk,
    rest: Option<Rest>,
}

/// What comes after the trunk.
struct Rest {
    model: Model,
    /// The trunk's value.
    takes: NodeId,
}

impl Rest {
    /// What comes after the value named `takes`.
    fn new(bytes: &[u8], takes: &str) -> Result<Self, Box<dyn Error>> {
        let model = ModelOptions::with_all_ops().prepack_weights(true).load(bytes.to_vec())?;
        Ok(Self { takes: model.node_id(takes)?, model })
    }
}

thread_local! {
    /// Pages are read side by side, each on one thread: a network that took more would only be in another page's way. Its sums don't
    /// depend on the number of threads then, either.
    static OWN: Arc<ThreadPool> = Arc::new(ThreadPool::with_num_threads(1));
    /// The pool whose only thread this is, if it is one.
    static WITHIN: RefCell<Weak<ThreadPool>> = const { RefCell::new(Weak::new()) };
}

/// What `work` gives, done on the thread on which this thread's networks run: one change of threads for all of them, instead of one for each.
pub fn on_one_thread<Out: Send>(work: impl FnOnce() -> Out + Send) -> Out {
    if WITHIN.with_borrow(Weak::upgrade).is_some() {
        return work();
    }
    let pool = OWN.with(Arc::clone);
    let within = || {
        WITHIN.set(Arc::downgrade(&pool));
        work()
    };
    if rayon::current_thread_index().is_none() {
        return pool.run(within);
    }
    // A worker of another pool would take up its next page while it waits for this one, and so on until its stack is full: a thread that
    // knows no other work waits in its place.
    match thread::scope(|scope| scope.spawn(|| pool.run(within)).join()) {
        Ok(out) => out,
        Err(panic) => resume_unwind(panic),
    }
}

impl Network {
    /// The network in an ONNX file's bytes.
    ///
    /// # Errors
    /// Where the bytes are not a network of one input that begins with convolutions.
    pub fn from_onnx(bytes: &[u8]) -> Result<Self, NetError> {
        let weights = |error: &dyn std::fmt::Display| NetError::Weights(error.to_string());
        let model = ModelProto::parse_buf(bytes).map_err(|error| weights(&error))?;
        let graph = model.graph.as_ref().ok_or_else(|| weights(&"no graph"))?;
        if graph.input.len() != 1 {
            return Err(weights(&format!("{} inputs instead of one", graph.input.len())));
        }
        let (trunk, end) = Trunk::of(graph).ok_or_else(|| weights(&"it doesn't begin with convolutions alone"))?;
        let rest = end.map(|end| Rest::new(bytes, &end)).transpose().map_err(|error| weights(&error))?;
        Ok(Self { input_width: input_width(graph), trunk, rest })
    }

    /// How long the input's last axis is, where the file says so.
    pub fn input_width(&self) -> Option<usize> {
        self.input_width
    }

    /// All outputs, in the file's order, for one input array in standard layout, of which the last three axes are channels, rows and columns.
    ///
    /// # Errors
    /// Where the network doesn't take an array of this shape.
    pub fn run(&self, input: ArrayViewD<'_, f32>) -> Result<Vec<ArrayD<f32>>, NetError> {
        let values = input.as_slice().ok_or_else(|| NetError::Run("the input doesn't lie row by row".into()))?;
        let Some((counts, &[channels, height, width])) = input.shape().split_last_chunk() else {
            return Err(NetError::Run("the input has fewer than three axes".into()));
        };
        let (shape, values) = self
            .trunk
            .run(counts.iter().product(), [channels, height, width], values)
            .ok_or_else(|| NetError::Run("the input has another shape than the network takes".into()))?;
        let Some(rest) = &self.rest else {
            return Ok(vec![ArrayD::from_shape_vec(IxDyn(&shape), values).map_err(|error| NetError::Run(error.to_string()))?]);
        };
        let input = Tensor::from_data(&shape, values);
        let outputs = on_one_thread(|| {
            let mut options = RunOptions::default();
            options.thread_pool = WITHIN.with_borrow(Weak::upgrade);
            rest.model.run(vec![(rest.takes, input.into())], rest.model.output_ids(), Some(options))
        });
        outputs.map_err(|error| NetError::Run(error.to_string()))?.into_iter().map(array).collect()
    }
}

/// How long the last axis of a graph's input is, where it says so.
fn input_width(graph: &GraphProto) -> Option<usize> {
    let shape = graph.input.first()?.r#type.as_ref()?.tensor_type.as_ref()?.shape.as_ref()?;
    usize::try_from(shape.dim.last()?.dim_value?).ok()
}

/// A network's output as an array.
fn array(value: Value) -> Result<ArrayD<f32>, NetError> {
    let tensor: Tensor<f32> = value.try_into().map_err(|_| NetError::Run("an output isn't made of numbers".into()))?;
    let shape = tensor.shape().to_vec();
    ArrayD::from_shape_vec(IxDyn(&shape), tensor.into_data()).map_err(|error| NetError::Run(error.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value as Json;

    /// Against ONNX Runtime 1.32.0 (`scripts/train/expect.py`).
    #[test]
    fn another_runtime_gives_the_same() {
        let expected: Vec<Json> = serde_json::from_str(include_str!("../../tests/data/networks.json")).expect("a list");
        assert_eq!(expected.len(), 8);
        let numbers = |list: &Json| list.as_array().expect("a list").iter().map(|n| n.as_f64().expect("a number")).collect::<Vec<f64>>();
        for case in &expected {
            let name = case["network"].as_str().expect("a name");
            let network = Network::from_onnx(&std::fs::read(format!("models/{name}.onnx")).expect("bundled")).expect("a network");
            let shape: Vec<usize> = numbers(&case["input"]).iter().map(|&n| n as usize).collect();
            let values = (0..shape.iter().product::<usize>()).map(|i| (i * 7919 % 1000) as f32 / 1000.0).collect();
            let input = ArrayD::from_shape_vec(IxDyn(&shape), values).expect("as many values as the shape says");
            let outputs = network.run(input.view()).expect("it runs");
            let wanted = case["outputs"].as_array().expect("a list");
            assert_eq!(outputs.len(), wanted.len(), "{name}");
            for (output, wanted) in outputs.iter().zip(wanted) {
                let (every, wanted) = (wanted["every"].as_u64().expect("a step") as usize, numbers(&wanted["values"]));
                let own: Vec<f64> = output.iter().step_by(every).map(|&value| f64::from(value)).collect();
                assert_eq!(own.len(), wanted.len(), "{name}");
                for (own, wanted) in own.iter().zip(&wanted) {
                    assert!((own - wanted).abs() < 2e-3 * wanted.abs().max(1.0), "{name}: {own} for {wanted}");
                }
            }
        }
    }
}
