"""How often a phone, or an address, may ask."""

from __future__ import annotations

from pullcall.buckets import Limit

#: A paired phone: a page that polls asks once a second, and a burst covers opening it.
OF_PAIRED = Limit(30.0, 120)
#: An address that is not paired: several phones behind one, each asking who it is, and refused.
OF_STRANGER = Limit(10.0, 200)
#: The page's own files, of one address: some sixty each time it is opened.
OF_FILES = Limit(40.0, 600)
#: Streams that one phone opens, each with a ticket: a page that loses its link at once tries six
#: times in 13 s, and twelve times are free.
OF_STREAMS = Limit(1.0, 24)
#: Snapshots that one phone asks for: a page without a stream asks once a second.
OF_SNAPSHOTS = Limit(2.0, 60)
#: Attempts to pair from one address: nobody types eight digits faster.
ATTEMPTS_OF_ONE = Limit(0.5, 5)
