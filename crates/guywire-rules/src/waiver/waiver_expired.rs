use crate::rule;
use crate::rule::Text;

rule! {
    /// A waiver is past its last day.
    ///
    /// What it accepts stays accepted until somebody has looked at it: a date alone turns no build red.
    ///
    /// ## On the air
    /// What was accepted for a while may have become how things are.
    ///
    /// ## Source
    /// Common practice, no source.
    ///
    /// ## Bad
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Yard"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// # waive(color-code-15) until 2026-01-31: the neighbors agreed to it
    /// color_code = 15
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Yard"]
    /// ```
    ///
    /// ## Good
    /// ```toml
    /// [plan]
    /// title = "Saltmarsh Harbor handhelds"
    ///
    /// [[channel]]
    /// name = "Yard"
    /// sends = "digital"
    /// rx_mhz = 453.2125
    /// # waive(color-code-15) until 2027-01-31: the neighbors agreed to it
    /// color_code = 15
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Yard"]
    /// ```
    pub WaiverExpired = "waiver-expired" { family: Waiver, level: Warning, judged: PerFile, since: "0.1.0" }
    fn check(_file: Text, _view, _out) {
        // What waivers accept is known only when all rules have spoken: judged where findings are published.
    }
}
