"""``GET /metrics`` of a board."""

from __future__ import annotations

from fastapi import FastAPI

from pullcall.api.metrics import count_streams, serve_metrics
from pullcall.board.board import Board
from pullcall.metrics.board_collector import BoardCollector


def serve_board_metrics(app: FastAPI, board: Board, token: str) -> None:
    """Serve what a board counts; ``token`` as of :func:`pullcall.api.metrics.serve_metrics`."""
    serve_metrics(app, BoardCollector(board, count_streams(app).counts), token)
