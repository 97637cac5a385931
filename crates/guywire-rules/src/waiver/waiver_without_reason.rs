use crate::rule;
use crate::rule::Text;

rule! {
    /// A waiver accepts a finding and does not say why.
    ///
    /// `reason_required = false` in the `[waivers]` of `guywire.toml` turns it off.
    ///
    /// ## On the air
    /// Nothing by itself. Whoever reads the plan later cannot tell whether what was accepted still holds.
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
    /// # waive(color-code-15) until 2027-01-31
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
    pub WaiverWithoutReason = "waiver-without-reason" { family: Waiver, level: Warning, judged: PerFile, since: "0.1.0" }
    fn check(_file: Text, _view, _out) {
        // What waivers accept is known only when all rules have spoken: judged where findings are published.
    }
}
