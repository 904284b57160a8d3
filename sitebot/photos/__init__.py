"""Photos: originals kept byte for byte under their hash, looked at before they are believed, made small for others.

    examine   is it a photo we take, and what does it say of itself
    small     a copy for reports and chat: turned upright, without any metadata
    folder    originals on the disk, under their SHA-256

Nothing here knows a splice or a message.
"""

from sitebot.photos.examine import MOST_BYTES, NotTaken, Photo, examine
from sitebot.photos.folder import Folder
from sitebot.photos.small import small

__all__ = ["MOST_BYTES", "Folder", "NotTaken", "Photo", "examine", "small"]
