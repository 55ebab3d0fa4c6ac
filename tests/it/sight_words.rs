//! The sight tube's words in `instrument` and the glass's in `bay`, which don't know each other, agree.

use faultbay::bay::observation::GlassLook;
use faultbay::instrument::sight::Gas;

#[test]
fn both_borders_and_words_are_the_same() {
    for i in 0..=10_000 {
        let share = f64::from(i) / 10_000.0;
        assert_eq!(Gas::of_share(share).glass_word(), GlassLook::of_gas_share(share).word(), "at {share}");
    }
}
