use crate::rule;
use crate::rule::Text;

rule! {
    /// A waiver accepts nothing: nothing that it covers has such a finding, no such rule exists, or the rule cannot be waived.
    ///
    /// A waiver covers the key on its line, or the key or table on the line after it.
    ///
    /// ## On the air
    /// Nothing by itself. A waiver that is left over hides the next mistake of its kind.
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
    /// # waive(color-code-range) until 2027-01-31: the neighbors agreed to it
    /// color_code = 5
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
    /// # agreed with the neighbors
    /// color_code = 5
    ///
    /// [[zone]]
    /// name = "Harbor"
    /// channels = ["Yard"]
    /// ```
    pub WaiverUnused = "waiver-unused" { family: Waiver, level: Warning, judged: PerFile, since: "0.1.0" }
    fn check(_file: Text, _view, _out) {
        // What waivers accept is known only when all rules have spoken: judged where findings are published.
    }
}
