"""How a client of the broker trusts it, and shows who it is."""

from __future__ import annotations

import ssl

from pullcall.bus.options import BrokerOptions
from pullcall.errors import ConfigError, reason


def context(options: BrokerOptions) -> ssl.SSLContext | None:
    """How the broker is trusted; None without TLS. Raises ConfigError for files that are none."""
    if not options.tls:
        return None
    files = {"ca": options.ca, "certificate": options.certificate, "key": options.key}
    for name, file in files.items():
        if file is not None and not file.is_file():
            raise ConfigError(f"There is no file {file}: check {name} in [mqtt].")
    try:
        made = ssl.create_default_context(cafile=options.ca)
        if options.certificate is not None:
            made.load_cert_chain(options.certificate, options.key)
    except (OSError, ssl.SSLError) as exc:
        raise ConfigError(
            f"The certificates of [mqtt] cannot be used ({reason(exc)}): check ca, certificate and "
            f"key."
        ) from exc
    return made
