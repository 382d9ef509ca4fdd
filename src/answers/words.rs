//! Statistics in a clause, for a baker who meets them the first time; every command takes them from here.

/// Root mean square.
pub const RMS: &str = "root mean square: the usual size of a miss, where large ones count more";
/// Shares inside intervals.
pub const INTERVALS: &str = "as many as their name says would be right; fewer, and they are too narrow";
/// Capability.
pub const CPK: &str = "the room from the middle to the nearer limit, over the spread; 1 or more is good";
/// How far forecasts of a class lie off.
pub const OFF_BY: &str = "all of these are misses, so less is better: ranked probability weighs the whole forecast, expected only its \
                          middle, Brier the chance given to a good outcome";
/// Expected log predictive density.
pub const ELPD: &str = "elpd: how likely the rises were by the forecasts made without them, as a logarithm (in nats); higher is better, and \
                        a difference of less than twice its ± may be chance";
/// Reliability of a quick fit.
pub const K_HAT: &str = "k-hat: whether the quick fit can be trusted; below 0.7 is good";
