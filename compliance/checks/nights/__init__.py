"""The nights: which sites are due, in slices of which size, whose turn it is, and what is done when a worker dies.

`start` begins a night, `queue` decides what may go into the queue, `work` carries out one slice, `sweep` finds what was
left lying, `close` ends the night, `letters` keeps what was given up. The doors in `compliance.tasks` do no more than
call these and put messages into the queue; the state is in the database (`compliance.models.night`), where each step is
taken by a conditional update, so that no message may be lost, late or doubled to any effect.
"""
