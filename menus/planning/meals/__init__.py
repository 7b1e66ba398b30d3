"""A whole meal for each restricted child from what is planned and what is on hand, with the least extra work.

It chooses; it judges nothing. Which dishes a child may be given is put in, and no other dish is ever chosen.
"""
