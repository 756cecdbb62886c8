"""``GET /metrics`` of a site."""

from __future__ import annotations

from fastapi import FastAPI

from pullcall.api.metrics import count_streams, serve_metrics
from pullcall.metrics.site_collector import MeasuredSite, SiteCollector


def serve_site_metrics(app: FastAPI, site: MeasuredSite, token: str) -> None:
    """Serve what a site measures; ``token`` as of :func:`serve_metrics`."""
    serve_metrics(app, SiteCollector(site, count_streams(app).counts), token)
