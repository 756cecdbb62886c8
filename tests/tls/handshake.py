"""A real server and a real client of TLS over the loopback interface (OpenSSL at both ends)."""

from __future__ import annotations

import asyncio
import ssl
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

_DEADLINE_S = 60.0


@dataclass
class Talk:
    """An open connection, and the certificate that its server showed."""

    reader: asyncio.StreamReader
    writer: asyncio.StreamWriter

    @property
    def certificate(self) -> x509.Certificate:
        shown = self._tls.getpeercert(binary_form=True)
        assert shown is not None
        return x509.load_der_x509_certificate(shown)

    @property
    def version(self) -> str | None:
        return self._tls.version()

    @property
    def cipher(self) -> str:
        cipher = self._tls.cipher()
        assert cipher is not None
        return cipher[0]

    async def echo(self, text: bytes) -> bytes:
        """What the server sends back for a line."""
        self.writer.write(text + b"\n")
        async with asyncio.timeout(_DEADLINE_S):
            return (await self.reader.readline()).strip()

    @property
    def _tls(self) -> ssl.SSLObject:
        tls = self.writer.get_extra_info("ssl_object")
        assert isinstance(tls, ssl.SSLObject)
        return tls


@asynccontextmanager
async def served(context: ssl.SSLContext) -> AsyncIterator[int]:
    """A server that sends every line back; its port."""

    async def answer(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        try:
            while line := await reader.readline():
                writer.write(line)
                await writer.drain()
        except ConnectionError:
            pass
        finally:
            writer.close()

    server = await asyncio.start_server(answer, "127.0.0.1", 0, ssl=context)
    try:
        yield server.sockets[0].getsockname()[1]
    finally:
        server.close()


def phone_that_trusts(authority: x509.Certificate | bytes) -> ssl.SSLContext:
    """A client's side that trusts one authority, and checks names as browsers do."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    der = authority if isinstance(authority, bytes) else authority.public_bytes(Encoding.DER)
    context.load_verify_locations(cadata=der)
    return context


@asynccontextmanager
async def opened(port: int, phone: ssl.SSLContext, name: str) -> AsyncIterator[Talk]:
    """Open the server as ``name``. Raises ssl.SSLCertVerificationError as the phone would warn."""
    async with asyncio.timeout(_DEADLINE_S):
        reader, writer = await asyncio.open_connection(
            "127.0.0.1", port, ssl=phone, server_hostname=name
        )
    try:
        yield Talk(reader, writer)
    finally:
        writer.close()


async def certificate_at(port: int, phone: ssl.SSLContext, name: str) -> x509.Certificate:
    """What a new connection is shown."""
    async with opened(port, phone, name) as talk:
        return talk.certificate
