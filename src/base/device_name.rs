//! File names that some systems keep for devices, whatever stands behind a full stop (common knowledge of those who write files
//! there).

/// Names without a number.
const ALONE: [&str; 4] = ["con", "prn", "aux", "nul"];
/// Names of ports, which have a digit behind them.
const PORTS: [&str; 2] = ["com", "lpt"];

/// Whether a file of this name, with or without an ending, would be a device on some systems.
pub fn is_device_name(name: &str) -> bool {
    let stem = name.split('.').next().unwrap_or_default().trim().to_lowercase();
    let is_port = |port: &&str| {
        let mut number = stem.strip_prefix(*port).unwrap_or_default().chars();
        // Superscript digits count too.
        number.next().is_some_and(char::is_numeric) && number.next().is_none()
    };
    ALONE.contains(&stem.as_str()) || PORTS.iter().any(is_port)
}

#[cfg(test)]
mod tests {
    use super::is_device_name;

    #[test]
    fn devices_and_names_that_look_like_them() {
        for name in ["CON", "nul.csv", "Aux .tar.gz", "COM1", "lpt9.v2.csv", "com²"] {
            assert!(is_device_name(name), "{name}");
        }
        for name in ["", "cone", "com", "com10", "coma", "x.con", "J1", ".con"] {
            assert!(!is_device_name(name), "{name}");
        }
    }
}
