#![no_main]

#[path = "../inputs.rs"]
mod inputs;

libfuzzer_sys::fuzz_target!(init: inputs::let_contained_panics_be(), |bytes: &[u8]| inputs::escaped(|| inputs::pictures(bytes)));
