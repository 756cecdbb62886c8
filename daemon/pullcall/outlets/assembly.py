"""Puts the outlets together as the configuration says."""

from __future__ import annotations

from pullcall.clock import Clock
from pullcall.outlets.desk import Desk
from pullcall.outlets.folder_player import FolderPlayer
from pullcall.outlets.loudspeaker import Loudspeaker
from pullcall.outlets.options import LoudspeakerOptions, WebhookOptions
from pullcall.outlets.outlet import Outlet
from pullcall.outlets.phones import Phones
from pullcall.outlets.player import CommandPlayer, Player
from pullcall.outlets.speech import Speech


def make_outlets(
    loudspeaker: LoudspeakerOptions, webhook: WebhookOptions, phones: Phones, clock: Clock
) -> Desk:
    """The desk with its outlets. ``clock`` is the machine's own.

    Raises ConfigError for a voice or an address that cannot be used.
    """
    speech = Speech(loudspeaker.voice)
    others: list[Outlet] = []
    backups: list[Outlet] = []
    if loudspeaker.enabled:
        others.append(Loudspeaker(make_player(loudspeaker), speech, clock))
    if webhook.url:
        from pullcall.outlets.webhook import Webhook  # an HTTP library, which takes time to load

        (backups if webhook.backup_only else others).append(Webhook(webhook, clock))
    return Desk(phones, others, clock, backups=backups, speech=speech)


def make_player(options: LoudspeakerOptions) -> Player:
    """What makes the sounds of a loudspeaker."""
    if options.folder is not None:
        return FolderPlayer(options.folder)
    return CommandPlayer(options.player)
