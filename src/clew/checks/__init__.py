"""Judging: charts of the winders, what varies, the scale itself, net content, target and release."""
