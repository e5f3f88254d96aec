//! Loads the bundled weights and runs the forward pass: arrays in, scores out, knowing no puzzle.
//!
//! The weights are part of the program (`models/*.onnx`); a test holds them against `models/checksums.txt`, and another one holds
//! what comes out against a second runtime.

use std::cell::RefCell;
use std::panic::resume_unwind;
use std::sync::{Arc, Weak};
use std::thread;

use ndarray::{ArrayD, ArrayViewD, IxDyn};
use rten::{Dimension, Model, ModelOptions, RunOptions, ThreadPool, Value};
use rten_tensor::prelude::*;
use rten_tensor::{Tensor, TensorView};

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
pub struct Network(Model);

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
    /// Where the bytes are not a network of one input.
    pub fn from_onnx(bytes: &[u8]) -> Result<Self, NetError> {
        let model = ModelOptions::with_all_ops().prepack_weights(true).load(bytes.to_vec());
        let model = model.map_err(|error| NetError::Weights(error.to_string()))?;
        match model.input_ids().len() {
            1 => Ok(Self(model)),
            inputs => Err(NetError::Weights(format!("{inputs} inputs instead of one"))),
        }
    }

    /// How long the input's last axis is, where the file says so.
    pub fn input_width(&self) -> Option<usize> {
        match self.0.input_shape(0)?.last()? {
            Dimension::Fixed(width) => Some(*width),
            Dimension::Symbolic(_) => None,
        }
    }

    /// All outputs, in the file's order, for one input array in standard layout.
    ///
    /// # Errors
    /// Where the network doesn't take an array of this shape.
    pub fn run(&self, input: ArrayViewD<'_, f32>) -> Result<Vec<ArrayD<f32>>, NetError> {
        let values = input.as_slice().ok_or_else(|| NetError::Run("the input doesn't lie row by row".into()))?;
        let input = TensorView::from_data(input.shape(), values);
        let outputs = on_one_thread(|| {
            let mut options = RunOptions::default();
            options.thread_pool = WITHIN.with_borrow(Weak::upgrade);
            self.0.run(vec![(self.0.input_ids()[0], input.into())], self.0.output_ids(), Some(options))
        });
        outputs.map_err(|error| NetError::Run(error.to_string()))?.into_iter().map(array).collect()
    }
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
        assert_eq!(expected.len(), 7);
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
