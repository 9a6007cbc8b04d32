"""Judging: charts, what varies, the scale itself, net content, the target and release."""
