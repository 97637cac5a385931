use crate::rule;
use crate::rule::Text;

rule! {
    /// A waiver lasts longer than the house allows, or has no end where the house wants one.
    ///
    /// Judged only where `longest_days` is set in the `[waivers]` of `guywire.toml`.
    ///
    /// ## On the air
    /// What was accepted for a while becomes how things are, and nobody looks at it again.
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
    /// # waive(color-code-15) until 2028-01-31: the neighbors agreed to it
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
    ///
    /// ## Beside
    /// ```toml guywire.toml
    /// [waivers]
    /// longest_days = 180
    /// ```
    pub WaiverTooLong = "waiver-too-long" { family: Waiver, level: Warning, judged: PerFile, since: "0.1.0" }
    fn check(_file: Text, _view, _out) {
        // What waivers accept is known only when all rules have spoken: judged where findings are published.
    }
}
