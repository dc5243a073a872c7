//! Builds the page with Node when the feature `studio` asks for it.

use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs};

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo::rerun-if-changed=build.rs");
    if env::var_os("CARGO_FEATURE_STUDIO").is_none() {
        return Ok(());
    }
    let out = PathBuf::from(env::var("OUT_DIR")?).join("studio");
    let page = Path::new(&env::var("CARGO_MANIFEST_DIR")?).join("../../studio");
    if !page.join("package.json").is_file() {
        fs::create_dir_all(&out)?;
        println!("cargo::warning=there is no page to build in: studio/package.json is missing");
        return Ok(());
    }
    // Never the folder itself: it holds node_modules, which changes with every install.
    for part in [
        "src",
        "public",
        "index.html",
        "package.json",
        "package-lock.json",
        "svelte.config.js",
        "tsconfig.json",
        "vite.config.ts",
    ] {
        if page.join(part).exists() {
            println!("cargo::rerun-if-changed={}", page.join(part).display());
        }
    }
    let done = installed(&page).and_then(|()| {
        let out = out.to_string_lossy().into_owned();
        npm(
            &page,
            &["run", "build", "--", "--outDir", &out, "--emptyOutDir"],
        )
    });
    if let Err(why) = done {
        println!("cargo::error={why}");
    }
    Ok(())
}

/// Installs what the lock file says, unless just that is there already.
fn installed(page: &Path) -> Result<(), String> {
    let lock = fs::read(page.join("package-lock.json"))
        .map_err(|e| format!("studio/package-lock.json cannot be read: {e}"))?;
    let stamp = page.join("node_modules/.boxwright-lock");
    if fs::read(&stamp).is_ok_and(|was| was == lock) {
        return Ok(());
    }
    npm(page, &["ci", "--no-audit", "--no-fund"])?;
    fs::write(&stamp, lock).map_err(|e| format!("studio/node_modules cannot be written: {e}"))
}

fn npm(page: &Path, args: &[&str]) -> Result<(), String> {
    let program = if cfg!(windows) { "npm.cmd" } else { "npm" };
    let ran = Command::new(program).args(args).current_dir(page).output();
    let output = ran.map_err(|_| {
        "Node with npm is needed to build the studio's page; install it, or build with \
         --no-default-features for a program without the page"
            .to_owned()
    })?;
    if output.status.success() {
        return Ok(());
    }
    // Messages of a build script are one line each.
    let text = String::from_utf8_lossy(&output.stderr);
    let words: Vec<&str> = text.lines().filter(|l| !l.trim().is_empty()).collect();
    let tail = words[words.len().saturating_sub(12)..].join(" | ");
    Err(format!("npm {} failed: {tail}", args.join(" ")))
}
