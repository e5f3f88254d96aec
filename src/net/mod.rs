//! Loads the bundled weights and runs the forward pass: arrays in, scores out, knowing no puzzle.
//!
//! The weights are part of the program (`models/*.onnx`); a test holds them against `models/checksums.txt`.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use ndarray::ArrayD;
use tract_onnx::prelude::*;

/// Why a network could not be loaded or run.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum NetError {
    /// The bytes are no network that can be run here.
    #[error("the weights can't be used: {0}")]
    Weights(String),
    /// The forward pass failed.
    #[error("the network failed: {0}")]
    Run(String),
}

/// A network with free input sizes: one optimised plan is kept for each size that was asked for.
pub struct Network {
    model: InferenceModel,
    plans: Mutex<HashMap<Vec<usize>, Arc<TypedRunnableModel>>>,
}

impl Network {
    /// The network in an ONNX file's bytes.
    ///
    /// # Errors
    /// Where the bytes are not a network of one input.
    pub fn from_onnx(bytes: &[u8]) -> Result<Self, NetError> {
        let weights = |error: TractError| NetError::Weights(error.to_string());
        let model = tract_onnx::onnx().model_for_read(&mut &*bytes).map_err(weights)?;
        if model.inputs.len() != 1 {
            return Err(NetError::Weights(format!("{} inputs instead of one", model.inputs.len())));
        }
        Ok(Self { model, plans: Mutex::default() })
    }

    /// All outputs, in the file's order, for one input array.
    ///
    /// # Errors
    /// Where the network doesn't take an array of this shape.
    pub fn run(&self, input: ArrayD<f32>) -> Result<Vec<ArrayD<f32>>, NetError> {
        let failed = |error: TractError| NetError::Run(error.to_string());
        let plan = self.plan(input.shape()).map_err(failed)?;
        let outputs = plan.run(tvec!(input.into_tensor().into_tvalue())).map_err(failed)?;
        outputs.iter().map(|output| Ok(output.to_plain_array_view::<f32>().map_err(failed)?.to_owned())).collect()
    }

    /// Makes the network ready for arrays of this shape, which the first run would else do.
    ///
    /// # Errors
    /// Where the network doesn't take an array of this shape.
    pub fn prepare(&self, shape: &[usize]) -> Result<(), NetError> {
        self.plan(shape).map(drop).map_err(|error| NetError::Run(error.to_string()))
    }

    fn plan(&self, shape: &[usize]) -> TractResult<Arc<TypedRunnableModel>> {
        // A plan is only ever inserted whole, so a panic elsewhere can't have left the map half changed.
        let mut plans = self.plans.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(plan) = plans.get(shape) {
            return Ok(plan.clone());
        }
        let mut model = self.model.clone();
        model.set_input_fact(0, f32::fact(shape).into())?;
        let plan = model.into_optimized()?.into_runnable()?;
        plans.insert(shape.to_vec(), plan.clone());
        Ok(plan)
    }
}
