package org.boxproof.shell

import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Test
import org.junit.runner.RunWith
import org.robolectric.RobolectricTestRunner

@RunWith(RobolectricTestRunner::class)
class FirstTest {
    @Test fun `a site is begun from nothing`() {
        val thumb = Thumb()
        thumb.type("New site", "Lantern Lane")
        assertEquals(null, thumb.refusal)
        assertTrue(thumb.read(), "Lantern Lane" in thumb.read())
        thumb.save("new-site")
    }

    @Test fun `the demo's front page`() {
        val thumb = Thumb("morning")
        thumb.save("sites")
        thumb.enter("Lantern Lane")
        thumb.save("front")
        assertTrue(thumb.read(), "foot of stair" in thumb.read())
    }
}
