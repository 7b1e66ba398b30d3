"""What dies in between: real servers and workers are killed, filled, doubled and made late, and nothing is lost.

Each test tears one thing down while a night is under way, lets the service go on by itself, and asks `whole`: every
site has exactly one complete result or a failure that one can see, nothing twice, nothing missing, the record unbroken.
"""
