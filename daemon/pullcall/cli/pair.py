"""``pullcall pair``: a new QR and code, the paired phones, and ending a pairing."""

from __future__ import annotations

import argparse
from contextlib import suppress
from typing import Any

import httpx

from pullcall.cli.common import DELAYS_MIN, add_config, lasts, port
from pullcall.cli.invitation import lines, remaining
from pullcall.cli.table import table
from pullcall.errors import PullcallError, RefusedError
from pullcall.settings import load_settings

_ROLES = ("cook", "hand", "watcher")
_PATIENCE_S = 5.0
_WATCHERS_ONLY = (
    "Only a watcher is shown less: add --role watcher, or leave --delay and --hide-targets."
)
_NO_SITE = (
    "No `pullcall serve` answers on this machine (tried port {ports}): start it, or give its port "
    "with --port."
)


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("pair", help="let a phone in: print a QR and a code")
    parser.add_argument("--role", choices=_ROLES, default="cook", help="what the phone may do")
    parser.add_argument("--label", default="", metavar="TEXT", help="a name for the invitation")
    parser.add_argument(
        "--lasts", type=lasts, metavar="TIME", help='life of a watcher\'s link: "12 h", "2 days"'
    )
    parser.add_argument(
        "--delay", type=int, choices=DELAYS_MIN, default=0, help="minutes a watcher sees it late"
    )
    parser.add_argument(
        "--hide-targets", action="store_true", help="show a watcher no targets and no forecast"
    )
    parser.add_argument("--list", action="store_true", help="list phones and invitations")
    parser.add_argument("--revoke", metavar="ID", help="end a phone's pairing, or an invitation")
    parser.add_argument("--port", type=port, metavar="PORT", help="the site's port on this machine")
    add_config(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Do it at the site that runs on this machine. Raises RefusedError with its reason."""
    with _site(args) as site:
        if args.list:
            print("\n".join(_listed(site)))
        elif args.revoke:
            print(_revoke(site, args.revoke))
        else:
            print("\n".join(lines(_asked(site, "POST", "invitations", _wish(args)))))
    return 0


def _wish(args: argparse.Namespace) -> dict[str, Any]:
    if args.role != "watcher" and (args.delay or args.hide_targets):
        raise RefusedError(_WATCHERS_ONLY)
    wish: dict[str, Any] = {"role": args.role, "label": args.label}
    wish |= {"delay_s": args.delay * 60, "hides_targets": args.hide_targets}
    return wish if args.lasts is None else wish | {"lasts_s": args.lasts}


def _site(args: argparse.Namespace) -> httpx.Client:
    """A client of the site on this machine: over plain http, which needs no pairing here."""
    page = load_settings(args.config).page
    # Where phones come in over TLS, this machine's own way in is the port after it.
    ports = [args.port, args.port + 1] if args.port else [page.plain_at(), page.port]
    for at in ports:
        base = f"http://127.0.0.1:{at}/api/v1/"
        with suppress(httpx.HTTPError):
            if httpx.get(f"{base}visitor", timeout=_PATIENCE_S, trust_env=False).is_success:
                return httpx.Client(base_url=base, timeout=_PATIENCE_S, trust_env=False)
    raise PullcallError(_NO_SITE.format(ports=" and ".join(map(str, ports))))


def _asked(site: httpx.Client, method: str, path: str, body: object = None) -> Any:
    try:
        answer = site.request(method, path, json=body)
    except httpx.HTTPError as exc:
        raise PullcallError("The site stopped answering: try again.") from exc
    if answer.is_success:
        return answer.json() if answer.content else None
    raise RefusedError(str(answer.json().get("detail", answer.reason_phrase)))


def _revoke(site: httpx.Client, id: str) -> str:
    """End a pairing or an invitation of that id."""
    for noun, what in (("pairings", "phone"), ("invitations", "invitation")):
        if any(one["id"] == id for one in _asked(site, "GET", noun)):
            _asked(site, "DELETE", f"{noun}/{id}")
            return f"Revoked the {what} {id}."
    raise RefusedError(f"There is no phone or invitation {id}: pullcall pair --list shows them.")


def _listed(site: httpx.Client) -> list[str]:
    phones = _asked(site, "GET", "pairings")
    invitations = _asked(site, "GET", "invitations")
    if not phones and not invitations:
        return ["No phone is paired: pullcall pair prints a QR and a code."]
    rows = [("ID", "PHONE", "ROLE", "PAIRED", "NOW")]
    rows += [(p["id"], p["name"], p["role"], p["paired"], _here(p)) for p in phones]
    links = [("ID", "INVITATION", "ROLE", "GOOD FOR", "PHONES")]
    links += [
        (i["id"], i["label"] or "-", i["role"], remaining(i["expires_in_s"]), str(i["phones"]))
        for i in invitations
        if i["uses_left"] != 0
    ]
    parts = [table(part) for part in (rows, links) if len(part) > 1]
    return [line for part in parts for line in ["", *part]][1:]


def _here(phone: dict[str, Any]) -> str:
    return "here" if phone["is_here"] else "away"
