"""Machines that wait for a hand, and stations that wait for one another, in closed form."""
