"""Natural frequencies of the strands: at rest, to tune by ear or phone, and running."""

from __future__ import annotations

import numpy as np

from beltplan.geometry.vectors import Floats


def frequency_at_rest_Hz(total_N: Floats, mass_kg_per_m: float, span_mm: Floats) -> Floats:
    """First natural frequency of a still strand, (...) Hz; zero for a slack one and where there is no length.

    Source: string, f = sqrt(T / m) / (2 l).
    """
    return np.asarray(np.sqrt(np.maximum(total_N, 0.0) / mass_kg_per_m) / (2.0 * _length_m(span_mm)))


def frequency_running_Hz(total_N: Floats, mass_kg_per_m: float, span_mm: Floats, speed_m_per_s: Floats) -> Floats:
    """First natural frequency of a strand that travels, (...) Hz; zero where the speed reaches that of its waves.

    total_N is the whole tension, m v^2 included.
    Source: f = (w^2 - c^2) / (2 l w), w^2 = T / m; Sack 1954; Ulsoy, Whitesell, Hooven 1985, from memory, high
    confidence.
    """
    wave_sq = np.maximum(total_N, 0.0) / mass_kg_per_m
    wave = np.sqrt(wave_sq)
    slower = np.maximum(wave_sq - np.asarray(speed_m_per_s) ** 2, 0.0)
    return np.asarray(slower / (2.0 * _length_m(span_mm) * np.where(wave > 0.0, wave, 1.0)))


def _length_m(span_mm: Floats) -> Floats:
    """In m; infinite, so without a frequency, where nothing is left of a strand."""
    length = np.asarray(span_mm) / 1000.0
    return np.where(length > 0.0, length, np.inf)
