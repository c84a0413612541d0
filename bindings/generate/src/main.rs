//! Makes the bindings from the built library: `boxproof-generate generate LIBRARY --language python --out-dir DIR`.

fn main() {
    uniffi::uniffi_bindgen_main();
}
