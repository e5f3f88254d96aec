//! The same work with the widest vectors that the processor has.

use rten_simd::{Isa, SimdOp};

struct Work<Do>(Do);

impl<Out, Do: FnOnce() -> Out> SimdOp for Work<Do> {
    type Output = Out;

    #[inline(always)]
    fn eval<I: Isa>(self, _: I) -> Out {
        (self.0)()
    }
}

/// What `work` gives. The program is built for any processor of its kind; what is inlined into `work` is built for newer ones as well, and the best that this
/// one knows is taken. Sums stay the same to the last bit: nothing is reordered or joined.
#[inline(always)]
pub fn wide<Out>(work: impl FnOnce() -> Out) -> Out {
    Work(work).dispatch()
}
