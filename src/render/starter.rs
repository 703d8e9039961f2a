/// A commented spec to start from; it reads without findings.
pub const STARTER: &str = include_str!("starter.yaml");
