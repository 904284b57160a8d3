"""One text by the line, with what came back of it: for ``sitebot sms test``. Nothing of it is kept."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable, Mapping, Sequence

from sitebot.channels.sms.channel import SmsChannel
from sitebot.channels.sms.line import Step
from sitebot.message import Incoming, Outgoing

SAYS = {
    Step.QUEUED: "The line took the text and has not sent it. Is the daemon running? Look at its log.",
    Step.SENT: "The network took the text; no receipt came. Look at the phone.",
    Step.FAILED: "It was not delivered",
    Step.DELIVERED: "It was delivered",
}
_LOOK_S = 0.2


async def try_line(channel: SmsChannel, out: Outgoing, tell: Callable[[str], None], patience_s: float) -> Step:
    """Send the text and wait for its receipt; what comes in meanwhile is told. ChannelError where it may not go."""

    async def keep(heard: Sequence[Incoming], state: Mapping[str, str]) -> None:
        for message in heard:
            tell(f"came in from {message.sender}: {message.text}")

    listening = asyncio.create_task(channel.listen(keep))
    await asyncio.sleep(0)
    try:
        ref = await channel.send(out)
        tell(f"The line has it as {ref}; waiting up to {patience_s:.0f} s for its receipt ...")
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(patience_s):
                while channel.progress(ref)[0] < Step.FAILED and not listening.done():
                    await asyncio.sleep(_LOOK_S)
        step, detail = channel.progress(ref)
        tell(SAYS[step] + (f" ({detail})." if step >= Step.FAILED else ""))
        return step
    finally:
        listening.cancel()
        await asyncio.gather(listening, return_exceptions=True)
