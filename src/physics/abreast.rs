//! The same step for eight courses at a time, on whatever vectors the processor has.
//!
//! A step without a branch is worked out for eight items in one loop, which the compiler turns into vectors of two, four or eight
//! numbers; which of them this processor bears is found when the program runs. No product is fused with a sum,
//! so that every processor gives the same bits, and eight at a time the same as one by one.
//!
//! Limits: a step that is not inlined into the loop, that branches, or that stores constants or truth values is
//! worked out one by one (right, but slow): see the benches.

use pulp::{Arch, NullaryFnOnce};

/// How many at a time.
pub const LANES: usize = 8;

/// What is done with one item, without a branch; `N` is the kind of number it is done with.
pub trait Step<N = f64> {
    /// What it takes.
    type In: Copy;
    /// What it gives.
    type Out: Copy + Default;

    /// The step; to be inlined always.
    fn one(&self, item: &Self::In) -> Self::Out;
}

/// Items that wait until there are eight, and whose they are.
pub struct Waiting<W, T> {
    whose: Vec<W>,
    what: Vec<T>,
}

impl<W, T> Default for Waiting<W, T> {
    fn default() -> Self {
        Self { whose: Vec::with_capacity(LANES), what: Vec::with_capacity(LANES) }
    }
}

impl<W: Copy, T: Copy> Waiting<W, T> {
    /// Adds one, and when there are eight does `step` with them all: `take` gets what it gives, in the order of adding.
    #[inline]
    pub fn add<N, S: Step<N, In = T>>(
        &mut self,
        step: &S,
        whose: W,
        what: T,
        take: impl FnMut(W, &T, S::Out),
    ) {
        self.whose.push(whose);
        self.what.push(what);
        if self.whose.len() == LANES {
            self.finish(step, take);
        }
    }

    /// Does `step` with those that wait.
    pub fn finish<N, S: Step<N, In = T>>(&mut self, step: &S, mut take: impl FnMut(W, &T, S::Out)) {
        let Some(&last) = self.what.last() else { return };
        // Where there are fewer, the last stands for what is missing.
        self.what.resize(LANES, last);
        if let Ok(items) = self.what.as_slice().try_into() {
            let out = eight(step, items);
            for ((&whose, what), found) in self.whose.iter().zip(&self.what).zip(out) {
                take(whose, what, found);
            }
        }
        self.whose.clear();
        self.what.clear();
    }
}

#[inline]
fn eight<N, S: Step<N>>(step: &S, items: &[S::In; LANES]) -> [S::Out; LANES] {
    let mut out = [S::Out::default(); LANES];
    Arch::new().dispatch(Eight { step, items, out: &mut out });
    out
}

struct Eight<'a, N, S: Step<N>> {
    step: &'a S,
    items: &'a [S::In; LANES],
    out: &'a mut [S::Out; LANES],
}

impl<N, S: Step<N>> NullaryFnOnce for Eight<'_, N, S> {
    type Output = ();

    #[inline(always)]
    fn call(self) {
        // Of memory of its own the compiler knows that nothing else reads it.
        let mut out = [S::Out::default(); LANES];
        #[expect(
            clippy::needless_range_loop,
            reason = "by a count that is known, nothing remains to be done one by one"
        )]
        for i in 0..LANES {
            out[i] = self.step.one(&self.items[i]);
        }
        *self.out = out;
    }
}
