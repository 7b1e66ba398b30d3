"""Verdicts of many dishes for many restriction types at once: what judging each pair by itself finds, as numbers.

The rules stay where they are. Each kind of evidence is judged once, by `compliance.rules.judge`, for each restriction
type; a dish is then the gravest of what is in it. Chains are not kept: they are built when somebody looks.
"""
