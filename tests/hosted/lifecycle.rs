//! Opening, saving, loading, restarting.

use crate::audio::open;
use plumbline_hosting::Session;

#[test]
fn parameters_show_what_was_set_after_a_block() {
    let mut instance = open(Session::default());
    instance.set("anchor", 3.0).unwrap();
    instance.set("spot_trim", -12.5).unwrap();
    instance.set_text("match", "Body").unwrap();
    let (mut first, mut second, spot) = ([0.0; 16], [0.0; 16], [0.0; 16]);
    instance
        .process(&mut [&mut first, &mut second], &[&spot, &spot])
        .unwrap();
    assert_eq!(instance.text("anchor").unwrap(), "Spot");
    assert_eq!(instance.get("match").unwrap(), 1.0);
    assert!((instance.get("spot_trim").unwrap() + 12.5).abs() < 1e-5);
    assert_eq!(instance.text("spot_trim").unwrap(), "-12.500 ms");
    assert!(instance.set("no_such", 0.0).is_err());
}
