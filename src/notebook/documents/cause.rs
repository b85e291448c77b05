//! What is written down as the cause of a lean run: a fault that can be mended, or the jetting itself. "Main jet too small" mends
//! nothing: the engine is as it was, and wants more fuel than that run had (common practice, no source).

/// Words that stand for the jetting or for the mixture.
const JETTING: &str = "\
    jet jets jetting jetted rejet rejetted main mains needle clip groove pilot screw airscrew mixture trim map \
    mapping lean leaner leaned weak carburation carburetion";

/// How words begin that name a fault, or a part that has one: with one of them a jet is meant that was blocked or fell out.
const FAULTS: &str = "\
    block clog dirt debris sand grit water rust leak loose fell fall came come crack broke break split worn wear \
    bent stuck stick seal gasket bearing hose line tap filter pump float valve reed tank vent breather kink pinch \
    missing lost burst hole vacuum cable slide sensor injector ignition spark timing advance plug coil pickup \
    petrol octane coolant pipe silencer manifold rubber boot piston crank";

/// Whether a cause names the jetting and no fault.
pub(super) fn is_the_jetting(cause: &str) -> bool {
    let words: Vec<String> = cause
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    let is_fault = |word: &String| FAULTS.split_ascii_whitespace().any(|fault| word.starts_with(fault));
    let is_jetting = |word: &String| JETTING.split_ascii_whitespace().any(|jetting| word == jetting);
    words.iter().any(is_jetting) && !words.iter().any(is_fault)
}

#[cfg(test)]
mod tests {
    use super::is_the_jetting;

    #[test]
    fn a_jet_that_was_too_small_is_the_jetting_and_one_that_was_blocked_is_not() {
        for cause in [
            "main jet too small",
            "Main 174 was one too few",
            "needle clip too high up",
            "pilot screw too far out",
            "mixture too lean for the cold",
            "too lean",
            "fuel map too weak at 9000",
        ] {
            assert!(is_the_jetting(cause), "{cause}");
        }
        for cause in [
            "main jet blocked",
            "dirt in the pilot jet",
            "the clip came off the needle",
            "crank seal leaked, so it ran lean",
            "main bearing seal",
            "float stuck",
            "main jet fell out",
            "ignition map of the other engine",
            "wrong fuel in the can",
            "air leak",
            "",
        ] {
            assert!(!is_the_jetting(cause), "{cause}");
        }
    }
}
