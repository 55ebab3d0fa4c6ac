//! How the executable is linked where Rust brings its own linker (x86-64 Linux with GNU's C library): equal functions once,
//! addresses packed, no names of symbols. Together a sixth of its size. Other linkers may not know the first of these.

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    let target = |what: &str| std::env::var(format!("CARGO_CFG_TARGET_{what}")).unwrap_or_default();
    if [target("OS"), target("ARCH"), target("ENV")] == ["linux", "x86_64", "gnu"] {
        for arg in ["-Wl,--icf=all", "-Wl,-z,pack-relative-relocs", "-Wl,-s"] {
            println!("cargo::rustc-link-arg-bins={arg}");
        }
    }
}
