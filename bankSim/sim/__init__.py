"""Drives the kernels: a scenario in, a result out."""
