//! The view of what the rules about carriers and tones share: the service, the licenses, what squelch tones do.

use guywire_radio::Hertz;
use guywire_radio::regime::{Regime, built_in};

use crate::language::{channel, license, license__assignment, plan};
use crate::symbol::Symbol;
use crate::value::{Known, Row, Stored};
use crate::view::{Ref, View};

impl<'v> View<'v> {
    /// The built-in service whose conditions hold: the channel's own where it names one, else the plan's. None where it is
    /// a file's, or none is named.
    pub fn built_in_service(self, channel: Option<Ref<'v, channel::Table>>) -> Option<&'static Regime> {
        let name = |value: &Stored| match value {
            Stored::Text(name) => Some(*name),
            _ => None,
        };
        let own = channel.map_or(Known::Absent, |channel| channel.known(channel::regime).map(name));
        let named: Known<Option<Symbol>> = match own {
            Known::Absent => self.plan().map_or(Known::Absent, |plan| plan.known(plan::regime).map(name)),
            own => own,
        };
        named.value().flatten().and_then(|name| built_in(self.symbol(name)))
    }

    /// The classes of station that the licenses of this plan assign a carrier to; none in the place of a class where an
    /// assignment names no class.
    pub fn assigned(self, carrier: Hertz) -> Vec<Option<&'v str>> {
        let mut classes = Vec::new();
        for license in self.all::<license::Table>() {
            for assignment in license.parts::<license__assignment::Table>(license::assignment) {
                let low = assignment.frequency(license__assignment::low_mhz).value();
                let high = assignment.frequency(license__assignment::high_mhz).value();
                let within = low.zip(high).is_some_and(|(low, high)| (low..=high).contains(&carrier));
                if within || assignment.frequency(license__assignment::tx_mhz) == Known::Is(carrier) {
                    let class = assignment.text(license__assignment::station);
                    classes.push(class.value().map(|class| self.symbol(class)));
                }
            }
        }
        classes
    }

    /// Whether the licenses of this plan hold something that cannot be read, or that might be another license.
    pub fn has_unread_licenses(self) -> bool {
        let unread = |license: &Ref<'v, license::Table>| match license.known(license::assignment) {
            Known::Is(Stored::List(parts)) => parts.iter().any(|part| match &part.value {
                Stored::Part(record) => {
                    record.broken || record.slots.iter().any(|slot| matches!(slot.value, Stored::Unreadable(_)))
                }
                _ => true,
            }),
            Known::Is(_) | Known::Absent => false,
            Known::Unreadable => true,
        };
        self.may_hide::<license::Table>() || self.all::<license::Table>().iter().any(unread)
    }
}
