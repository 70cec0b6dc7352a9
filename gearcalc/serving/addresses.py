"""Under which addresses this computer can be reached by others on its networks, with a way out of them or without."""

from __future__ import annotations

import ipaddress
import re
import socket
from collections.abc import Iterable

from attrs import frozen

from gearcalc.basics.errors import NotPossibleError
from gearcalc.serving.extras import install

THIS_COMPUTER, ALL_CARDS = "127.0.0.1", "0.0.0.0"
"""What a server listens at: for this computer alone, or for the networks too."""
_NOT_OTHERS = re.compile(
    "docker|br-|bridge|veth|virbr|vbox|virtualbox|vmnet|vmware|podman|cni|lxc|lxd|u?tun|tap|wg|zt|tailscale", re.I
)
"""How cards begin to be called that lead to guests of this computer, or through a tunnel; not into the class."""


@frozen
class Card:
    """A network card that is up: its name, and its address, as in 192.168.1.20."""

    name: str
    address: str

    @property
    def is_own(self) -> bool:
        """Whether it leads only to guests of this computer, or through a tunnel."""
        return _NOT_OTHERS.match(self.name) is not None


def addresses() -> tuple[str, ...]:
    """Find this computer's addresses for others, the likeliest first. Raises NotPossibleError where there are none."""
    found = in_order(_cards(), _way_out())
    if not found:
        remedy = "Connect it to the network of the class first; that need not lead into the internet."
        raise NotPossibleError("this computer is in no network", remedy=remedy)
    return found


def in_order(cards: Iterable[Card], way_out: str | None = None) -> tuple[str, ...]:
    """The addresses of these cards that others can type, the likeliest first.

    `way_out`: the address that leads out of the network, where one does. A card of guests or of a tunnel counts where
    there is no other; an address that a computer gave itself comes last.

    >>> in_order([Card("docker0", "172.17.0.1"), Card("eth0", "169.254.7.7"), Card("wlan0", "192.168.1.20")])
    ('192.168.1.20', '169.254.7.7')
    """
    there = [card for card in cards if _for_others(card.address)]
    there = [card for card in there if not card.is_own] or there
    there.sort(key=lambda card: (card.address != way_out, ipaddress.ip_address(card.address).is_link_local))
    return tuple(dict.fromkeys(card.address for card in there))


def _for_others(address: str) -> bool:
    known = ipaddress.ip_address(address)
    return not (known.is_loopback or known.is_unspecified or known.is_multicast)


def _cards() -> list[Card]:
    try:
        import psutil
    except ImportError:
        why = "psutil, which knows the network's addresses, is not installed"
        raise NotPossibleError(why, remedy=install("web")) from None
    up = {name for name, state in psutil.net_if_stats().items() if state.isup}
    return [
        Card(name, each.address)
        for name, found in psutil.net_if_addrs().items()
        for each in found
        if name in up and each.family == socket.AF_INET
    ]


def _way_out() -> str | None:
    """The address that would be used to reach a host elsewhere: nothing is sent, the system only looks up its way."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(("192.0.2.1", 9))  # an address that RFC 5737 keeps for examples
            return str(asking.getsockname()[0])
        except OSError:  # a network of its own
            return None
